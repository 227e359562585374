"""Random orders, and what has to be true of every one."""

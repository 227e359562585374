"""Files in, checked data out, and files written together."""

"""Every statement about a piece or a job, made once, from data."""

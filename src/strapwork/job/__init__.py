"""Jobs: read, worked out, and their files."""

"""Back ends: one small file an output."""

"""Sizes from bodies: the published girths of adults, and the sizes that serve them best."""

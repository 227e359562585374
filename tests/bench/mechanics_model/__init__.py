"""Braided strands as elastic ribbons in contact: an independent check of `strapwork.braid.geometry`."""

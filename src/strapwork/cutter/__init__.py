"""Beds and tool paths for cutters and plotters."""

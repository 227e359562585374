"""Drawings as plain data, and the pens that write them."""

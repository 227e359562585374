"""Exact plane geometry: lines, arcs, circles, outlines."""

"""Braids worked in a strap whose two ends stay joined."""

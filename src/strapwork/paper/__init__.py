"""Sheets, cards and pictures on paper."""

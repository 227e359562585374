"""One piece worked out: fit, strap, findings, load."""

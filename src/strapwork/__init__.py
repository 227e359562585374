"""Full-scale patterns for slit-and-braided strap goods."""

__version__ = "0.1.0"

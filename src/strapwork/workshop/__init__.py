"""The workshop: an order as a whole, its sizes, what to cut it from, and what it costs."""

"""What the maker has: patterns, hardware, leather, machines, papers, printers, each read from TOML."""

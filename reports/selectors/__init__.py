"""What report pages show: frozen rows, each page with a constant number of queries."""

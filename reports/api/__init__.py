"""Reports for programs."""

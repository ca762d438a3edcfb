"""What the reports do in the background."""

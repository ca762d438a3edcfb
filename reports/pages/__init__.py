"""Thin views of what people look at."""

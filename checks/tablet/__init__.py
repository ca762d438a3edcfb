"""The guided check, one step a screen. ``sequence`` is the order of the work; ``steps`` takes the answers."""

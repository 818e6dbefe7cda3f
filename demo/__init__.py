"""The demo: an invented carrier with a simulated history, kept apart from the product and never part of its core."""

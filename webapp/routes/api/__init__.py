"""The JSON interface for other software, noun by noun."""

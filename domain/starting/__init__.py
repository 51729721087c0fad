"""What a new shop starts with, before it has typed in its own suppliers' figures."""

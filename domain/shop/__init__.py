"""What the shop keeps: its nouns, as plain values."""

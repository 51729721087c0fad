"""What a careful manager plans by hand: most urgent first, full flasks, timed backwards from the cast."""

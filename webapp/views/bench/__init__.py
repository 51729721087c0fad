"""The bench calculators: from what is typed to a slip with its fields and its answer."""

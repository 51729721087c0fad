"""Metal and powder on the shelf, on order and coming back."""

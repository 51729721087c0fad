"""What is done with a flask on the floor: its stages, what each asks, how long things wait, how pieces come out."""

"""Planning away from the event loop: one child process a shop, watched by a thread."""

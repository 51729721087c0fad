"""One function for each intention of a user: load, let the domain decide, save."""

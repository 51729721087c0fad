"""Languages of screens and prints: catalogues of what is said, templates read in them, and names of days and months."""

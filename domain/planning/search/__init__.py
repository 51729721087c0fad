"""From a first plan to a better one, with bounds that hold however the search goes."""

"""HTTP in, HTML out. Routes read what was asked, call an action or a query, and answer with a page."""

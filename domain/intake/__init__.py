"""From what people type, on a form or in a list of any shape, to values and jobs."""

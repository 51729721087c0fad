"""The week, end to end: from what is known to a checked plan with its metal, and moves by hand."""

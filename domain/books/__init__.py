"""The books: every gram moves from one account to another, and nothing is edited or deleted."""

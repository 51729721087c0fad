"""The trade of lost-wax casting: pure, and testable without a database or a browser."""

"""Where the shop's data is kept: tables, queries and migrations. Only this package knows the database."""

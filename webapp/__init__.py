"""Everything that touches the world: HTTP, files, the database, the command line."""

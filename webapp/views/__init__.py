"""What a page shows, worked out from values of the trade; no request, no database, no units chosen."""

"""The week and the plan as JSON documents, and the field types that forms share with them."""

"""What other software sends and gets, beside the documents of the shop."""

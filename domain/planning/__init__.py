"""The week: what is asked, what is answered, how it is checked, and who answers it."""

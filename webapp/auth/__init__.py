"""Who is there and what they may do: roles, passwords and PINs, the certificate."""

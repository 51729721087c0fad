"""Alloys, what a pattern weighs in metal, how a charge is composed, how a casting cools."""

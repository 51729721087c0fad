"""The week as one model for CP-SAT, solved level by level; the only files that see OR-Tools."""

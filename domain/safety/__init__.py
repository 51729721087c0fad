"""Which cautions and checklist points a flask calls for."""

"""Models as files: read, checked, measured and drawn. The mesh library is seen by ``reading.py`` alone."""

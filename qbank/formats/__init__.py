"""Writers and readers of item banks in open formats; they know items, not families."""

"""Family files: read with places, checked, and held as frozen values."""

"""How hard an instance is likely to be: features of its path, and one index made of them."""

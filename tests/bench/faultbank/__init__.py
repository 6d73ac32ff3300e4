"""Banks with known faults: siblings of the shipped families, as made or in other words."""

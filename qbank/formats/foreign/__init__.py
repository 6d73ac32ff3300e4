"""Reading packages made by others: tolerant, bounded, and silent about nothing."""

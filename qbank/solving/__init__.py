"""From data to answers: which case holds, the laws solved once in symbols, then on arrays."""

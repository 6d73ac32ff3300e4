"""Benchmarks: what the project promises about speed and memory, measured as ratios in one run."""

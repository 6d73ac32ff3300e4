"""The proof sheet: a family or a bank on one page, for the eye and for paper."""

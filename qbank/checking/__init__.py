"""Checks of solved instances, vectorised: each can fail, and says which instance and why."""

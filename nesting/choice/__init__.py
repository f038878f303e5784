"""Which board for which part: boards side by side, and the best for all parts together."""

"""Placing parts on boards: problem, search, proof."""

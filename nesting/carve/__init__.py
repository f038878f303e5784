"""Carving a sheet wing: the solid of a panel with a section, and everything a builder carves it by."""

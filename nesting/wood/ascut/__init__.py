"""A part as it was cut, laid on the scanner, against its outline: how it lies, and where wood is left or missing."""

"""What both packages stand on: errors, notes, units, wording, progress."""

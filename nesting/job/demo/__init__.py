"""The demonstration: an invented model's scanned plan, a rack, and a job that ties them together."""

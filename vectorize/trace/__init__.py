"""Tracing from end to end: pictures, drawings, and things laid on the scanner."""

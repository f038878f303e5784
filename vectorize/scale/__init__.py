"""From original pixels to millimetres, with what is unsure about it."""

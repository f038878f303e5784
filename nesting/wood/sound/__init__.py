"""A board's stiffness by its sound: taps on its end in a recording, the tone along the grain, and E from it."""

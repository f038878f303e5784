"""What is drawn on a plan besides outlines: lettering, and dimensions."""

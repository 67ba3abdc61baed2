"""The set as geometry: positions, the drawing, what follows for the light, and the shadow card."""

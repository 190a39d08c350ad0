"""A decision as a scene: plain shapes in mm, the same for screen and paper."""

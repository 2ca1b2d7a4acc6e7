"""A part in the round: its surface in space, cameras, what each view shows, the art as it is worn."""

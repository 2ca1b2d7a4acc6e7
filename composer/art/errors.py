"""The error for art that cannot be taken in."""


class ArtError(ValueError):
    """Art that cannot be used; the text says what is wrong, where, and what to do."""

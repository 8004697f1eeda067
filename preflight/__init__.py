"""Artwork preflight: is this art fit to be made, by this method, at this size?"""

__version__ = "0.1.0"

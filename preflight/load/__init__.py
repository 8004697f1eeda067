"""A file becomes Artwork: looks at the bytes, picks a loader, finds the art's bounds, scales to the ordered size."""

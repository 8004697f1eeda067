"""Draw the sample inbox of the Saltmarsh Kite Fair again: every file of sample_art/inbox, from numbers alone."""

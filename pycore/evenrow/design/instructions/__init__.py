"""What to do with a finished design: build it, flush it, walk it, measure it."""

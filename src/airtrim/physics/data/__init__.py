"""Parameter sets, one module for one source, each with a note of what it is not."""

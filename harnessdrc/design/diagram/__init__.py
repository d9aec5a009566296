"""The circuit as a drawing: boxes and what joins them, layers from the battery's positive post to its negative one,
lines that cross as little as may be, shared paths and loops."""

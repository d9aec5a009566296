"""Opening each kind of file: what it is, guards against hostile ones, its cells with their place."""

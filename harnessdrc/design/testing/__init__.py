"""What is measured on a finished loom, what must come out of it, and what did; loaded only where it is asked for."""

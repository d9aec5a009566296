"""From a checked list to the bench: what to cut, fit, label, buy and measure, as `harnessdrc.papers.Papers`."""

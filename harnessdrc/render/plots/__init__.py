"""Plots as SVG. Importing this loads no plotting library; the modules inside do, when they draw."""

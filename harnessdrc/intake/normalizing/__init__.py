"""Turning the cells of a table into normalized values."""

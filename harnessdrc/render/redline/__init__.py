"""Marked-up copies of the lists that were checked."""

from harnessdrc.render.redline.compose import RedlineSource, stage_redline, write_redline
from harnessdrc.render.redline.plain import SheetRows

__all__ = ["RedlineSource", "SheetRows", "stage_redline", "write_redline"]

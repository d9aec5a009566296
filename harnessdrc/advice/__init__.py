"""What to do about a result: earth points compared, and changes that clear findings, each tried first."""

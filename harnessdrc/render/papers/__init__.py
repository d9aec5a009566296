"""Papers for the bench, printable: as pages for A4 and as a workbook."""

"""Finding tables on a sheet: headings, layouts, rows that are data and rows that are not."""

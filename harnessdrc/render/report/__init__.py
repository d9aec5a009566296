"""The report as one page. Importing this loads no template and no plotting library."""

"""Any table a keeper has, read as rows of text, its columns matched to those of the files."""

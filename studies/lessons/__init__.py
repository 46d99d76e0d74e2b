"""Teaching figures with the numbers to redo by hand."""

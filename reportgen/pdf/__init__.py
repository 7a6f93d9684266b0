"""Tagged archival pages: canvas, structure, flowing blocks, tables, pictures. It knows no job."""

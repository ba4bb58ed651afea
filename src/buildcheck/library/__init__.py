"""Files and records: reading with line numbers, the catalogue, schemas. The only layer that opens files."""

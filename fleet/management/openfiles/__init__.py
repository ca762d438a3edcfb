"""All that a fleet owns as open files, and back: a CSV file a table, described by a Data Package with Table Schemas."""

"""Words that sentences and tables are made of."""

"""The monthly review: from records to tables that are frozen, one file a subject."""

"""Sentences, such as the one that opens a page: from what a selector read to what a person is told."""

"""Finding: the words of the record, by what is typed."""

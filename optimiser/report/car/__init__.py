"""The whole car as a report: the record, its tables, its JSON document."""

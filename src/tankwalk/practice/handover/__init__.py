"""The handover: drafted from the record, a person's own lines, given, taken and said back."""

"""Backups: record and plan together, made and kept by a rule, rehearsed, and put back."""

"""Sync: what phones bring, what they fetch, what a new one needs."""

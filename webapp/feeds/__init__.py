"""Meters that machines count themselves: read over the open MTConnect standard, reconciled, and put in the record."""

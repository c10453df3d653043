"""Papers and exports: the records binder, check sheets, labels, wall cards, CSV and JSON Lines, and their way back."""

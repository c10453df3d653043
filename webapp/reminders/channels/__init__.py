"""The ways in which reminders reach people."""

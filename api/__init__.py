"""What people and programs ask: the service, its alarms and its live stream."""

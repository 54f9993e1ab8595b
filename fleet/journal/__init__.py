"""The durable record: events, commands, documents, people and history."""

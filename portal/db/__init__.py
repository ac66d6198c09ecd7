"""Tables and the engine: columns and relationships, no rules."""

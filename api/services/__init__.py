"""What the doors share beyond graph and store: reviewing, experience, logs, photographs."""

"""What reviewers said, how far they agree, and the hash of what they saw."""

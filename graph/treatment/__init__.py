"""What was done and how it came out: record, report, past cases like this one."""

"""Questions on a case, answered in processes that can be ended, within limits that are told."""

"""From a case to its answer: candidates, contacts, exposures, findings, verdicts, order."""

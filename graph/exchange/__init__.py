"""Answers and cases in open formats: JSON-LD, CIDOC CRM, PROV-O."""

"""From symptoms to matters: shared cause, evidence and the next test."""

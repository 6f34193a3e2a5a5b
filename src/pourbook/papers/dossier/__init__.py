"""The dossier: the trace of a bottle lot, for an auditor."""

"""Approval of batches and lots: what speaks for and against it, and how approvals stand."""

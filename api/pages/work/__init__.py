"""Pages: plan, bench sheet, proposal."""

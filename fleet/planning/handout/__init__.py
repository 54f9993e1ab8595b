"""What a plan is handed on as: tables, a page to print, and a list of occupied spectrum for the neighbours."""

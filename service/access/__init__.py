"""Who may come in, and what for. Knows neither the database nor HTTP."""

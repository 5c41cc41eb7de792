"""A filled record of every released schema, as SQL text: what later migrations have to bring up to date."""

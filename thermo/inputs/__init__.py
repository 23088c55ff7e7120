"""The scenario's tables, one small file a subject: frozen pydantic models with SI values inside."""

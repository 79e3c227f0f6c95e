"""A plan as text, drawings, sheets and tables; writes nothing."""

"""The types of the trade. Frozen pydantic records; nothing here has behaviour beyond its own validity."""

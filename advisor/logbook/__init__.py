"""The memory: today it turns readings into conditions."""

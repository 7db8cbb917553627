"""The way from antenna to outlet at one address: what arrives there, what to change, what to bring."""

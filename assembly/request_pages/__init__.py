"""The pages of requests: asking on a phone, one request and the lists of them, what a day needs."""

"""The pages of sterilizers and sealers: today at one glance, and each thing's month."""

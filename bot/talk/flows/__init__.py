"""The conversations, one module each. Importing this package registers every flow under its name."""

from bot.talk.flows import weekly_test as weekly_test

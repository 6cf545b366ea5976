"""The conversations, one module each. Importing this package registers every flow under its name."""

from bot.talk.flows import away as away
from bot.talk.flows import better_ph as better_ph
from bot.talk.flows import bring_owners as bring_owners
from bot.talk.flows import care as care
from bot.talk.flows import check_volume as check_volume
from bot.talk.flows import first_fill as first_fill
from bot.talk.flows import household as household
from bot.talk.flows import invites as invites
from bot.talk.flows import log_event as log_event
from bot.talk.flows import my_data as my_data
from bot.talk.flows import prescribe as prescribe
from bot.talk.flows import put_aside as put_aside
from bot.talk.flows import routine as routine
from bot.talk.flows import saying as saying
from bot.talk.flows import sent_plan as sent_plan
from bot.talk.flows import settings as settings
from bot.talk.flows import soaked as soaked
from bot.talk.flows import staff as staff
from bot.talk.flows import start_up as start_up
from bot.talk.flows import symptom as symptom
from bot.talk.flows import tubs as tubs
from bot.talk.flows import weekly_test as weekly_test
from bot.talk.flows import welcome as welcome
from bot.talk.flows import which_volume as which_volume
from bot.talk.flows import worry as worry

"""A built site made ready to be carried about: its policy, its edition, a worker for use without a network, a zip."""

from generator.rendering.offline.archive import write_zip
from generator.rendering.offline.edition import Edition, edition_of
from generator.rendering.offline.finishing import farewell, finish, finished
from generator.rendering.offline.policy import BARE, theme_scripts

__all__ = ["BARE", "Edition", "edition_of", "farewell", "finish", "finished", "theme_scripts", "write_zip"]

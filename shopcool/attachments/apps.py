"""The attachments of the workshop."""

from django.apps import AppConfig


class AttachmentsConfig(AppConfig):
    """Photos and PDFs, kept outside the web root and handed out to whoever may see what they belong to."""

    name = "shopcool.attachments"
    label = "attachments"

    def ready(self) -> None:
        """Let certificates of people have attachments: people stand below and can't register themselves."""
        from shopcool.attachments.competences import COMPETENCES
        from shopcool.attachments.parents import register

        register(COMPETENCES)

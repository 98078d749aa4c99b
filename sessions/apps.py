from django.apps import AppConfig


class SessionsConfig(AppConfig):
    name = "sessions"
    # Django's own login sessions hold the label "sessions"; this one is in every table name: never change it.
    label = "training"
    verbose_name = "Training"

    def ready(self) -> None:
        from athletes.signals import breaks_asked, room_changed
        from sessions.class_versions import coming_classes_moved
        from sessions.targets.history import back_from_break

        room_changed.connect(coming_classes_moved)
        breaks_asked.connect(back_from_break)

from django.core.management.base import BaseCommand

from coachhub.backups import new_key


class Command(BaseCommand):
    help = "Make the pair of keys for back-ups of every night: one half seals them, the other opens them."

    def handle(self, *args, **options):
        public, private = new_key()
        self.stdout.write(f"1. Set BACKUP_KEY={public} and start again: every night a sealed back-up is made.\n")
        self.stdout.write("2. Keep this on paper or on another machine. Without it no back-up opens:\n")
        self.stdout.write(private)
        self.stdout.write("\n3. Copy the sealed files to another machine, and see now and then that one opens:")
        self.stdout.write("   python3 manage.py restore FILE --key KEYFILE --check")

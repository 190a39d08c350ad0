"""What was missed in theatre is counted on a shortfall of its own, no longer on its request.

In a transaction of its own: PostgreSQL alters no table that has rows waiting to be checked.
"""

from django.db import migrations
from django.db.models import Exists, OuterRef
from django.utils import timezone

PACKED_SHORT, MISSED = 'packed short', 'missed in theatre'
KNOWN = 'counted with the package, which was known to go without'


def bring_over(apps, schema_editor):
    """A row for each request that names an instrument and the set it was missing from.

    What its package was known to go without has a row already; a request for that has one of
    its own only where pieces were counted on it, and that one is closed.
    """
    Shortfall, Request = apps.get_model('assembly', 'Shortfall'), apps.get_model('assembly', 'Request')
    PiecesBack = apps.get_model('assembly', 'PiecesBack')
    for one in Shortfall.objects.select_related('package__build'):
        if one.package.build is None:
            raise ValueError(
                f'Shortage {one.pk} is of package {one.package.code}, which has no build and so no '
                'set. Nothing was changed: give that package its build, then migrate again.'
            )
        one.instrument_set_id = one.package.build.instrument_set_id
        one.save(update_fields=['instrument_set'])
    known = Shortfall.objects.filter(
        kind=PACKED_SHORT, package=OuterRef('missing_in_package'), instrument=OuterRef('instrument')
    )
    counted = PiecesBack.objects.filter(request=OuterRef('pk'))
    missed = Request.objects.filter(missing_from__isnull=False, instrument__isnull=False)
    for one in missed.annotate(known=Exists(known), counted=Exists(counted)).order_by('pk'):
        closed = {
            'closed_at': one.replenished_at,
            'closed_by': one.replenished_by,
            'closed_because': one.replenished_because,
        }
        if one.known and one.replenished_at is None:
            if not (one.returned or one.counted):
                continue
            closed = {'closed_at': timezone.now(), 'closed_because': KNOWN}
        made = Shortfall.objects.create(
            kind=MISSED, instrument_set_id=one.missing_from_id, package_id=one.missing_in_package_id,
            request=one, instrument_id=one.instrument_id, item_number=one.number, name=one.what,
            quantity=one.quantity, returned=one.returned, opened_by=one.asked_by,
            opened_at=one.asked_at, **closed,
        )
        PiecesBack.objects.filter(request=one).update(shortfall=made)


def take_back(apps, schema_editor):
    """Counted on the requests again; a request that was closed as known waits no more than then."""
    Shortfall, PiecesBack = apps.get_model('assembly', 'Shortfall'), apps.get_model('assembly', 'PiecesBack')
    Request = apps.get_model('assembly', 'Request')
    for one in Shortfall.objects.filter(kind=MISSED):
        ended = {} if one.closed_because == KNOWN else {
            'replenished_at': one.closed_at,
            'replenished_by': one.closed_by,
            'replenished_because': one.closed_because,
        }
        Request.objects.filter(pk=one.request_id).update(returned=one.returned, **ended)
        PiecesBack.objects.filter(shortfall=one).update(shortfall=None, request=one.request_id)
        one.delete()


class Migration(migrations.Migration):

    dependencies = [
        ('assembly', '0006_shortfalls'),
    ]

    operations = [
        migrations.RunPython(bring_over, take_back),
    ]

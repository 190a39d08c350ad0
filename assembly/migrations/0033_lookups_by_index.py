from django.db import migrations, models
from django.db.models.functions import Lower


class Migration(migrations.Migration):

    dependencies = [
        ("assembly", "0032_decisions_moved"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="package",
            index=models.Index(fields=["number"], name="package_number"),
        ),
        migrations.AddIndex(
            model_name="package",
            index=models.Index(condition=models.Q(("sealed_at", None), ("void_at", None)), fields=["packed_at"], name="package_not_sealed"),
        ),
        migrations.AddIndex(
            model_name="shortfall",
            index=models.Index(condition=models.Q(("closed_at", None)), fields=["opened_at"], name="shortfall_still_open"),
        ),
        migrations.AddIndex(
            model_name="load",
            index=models.Index(Lower("lot"), name="load_lot_folded"),
        ),
        migrations.AddIndex(
            model_name="supplylot",
            index=models.Index(Lower("lot"), name="supply_lot_folded"),
        ),
        migrations.AddIndex(
            model_name="equipmenttest",
            index=models.Index(Lower("lot"), name="equipment_test_lot_folded"),
        ),
        migrations.AddIndex(
            model_name="request",
            index=models.Index(Lower("department"), models.F("id"), name="request_department_folded"),
        ),
    ]

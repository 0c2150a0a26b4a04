import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('finishing', '0039_counted_on'),
        ('scheduling', '0031_cut_problems'),
    ]

    operations = [
        migrations.AddField(
            model_name='planrun',
            name='quote',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='finishing.quote'),
        ),
    ]

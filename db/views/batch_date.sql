create view batch_date as
-- One row per batch that counts: its last day of use, with its stay in the freezer. grain: batch_id. needs: standing_batches, standing_batch_freezes.
-- frozen_on: the day it last went into the freezer; null when it never did.
-- thawed_on: the day it came out again; null while it is there, or when it never was.
-- is_frozen: 1 while it is in the freezer.
-- last_on: last day of use: as written, or what freezing left of it (db/date_marks.py); null while it is frozen or when none was written.
-- Of several stays the last counts, and days in the freezer before it count as used: never a day too many.
with stay as (
    select
        batch.id,
        coalesce(
            (select max(moved.moved_on) from standing_batch_freezes as moved
                where moved.lot_code = batch.lot_code and moved.recipe_id = batch.recipe_id
                and moved.what = 'frozen' and moved.moved_on >= batch.made_on),
            batch.frozen_on
        ) as frozen_on
    from standing_batches as batch
),
known as (
    select
        batch.id as batch_id,
        batch.recipe_id,
        batch.lot_code,
        batch.made_on,
        batch.use_by,
        stay.frozen_on,
        coalesce(
            (select min(moved.moved_on) from standing_batch_freezes as moved
                where moved.lot_code = batch.lot_code and moved.recipe_id = batch.recipe_id
                and moved.what = 'thawed' and moved.moved_on >= stay.frozen_on),
            case when batch.thawed_on >= stay.frozen_on then batch.thawed_on end
        ) as thawed_on
    from standing_batches as batch
    join stay on stay.id = batch.id
)
select
    batch_id,
    recipe_id,
    lot_code,
    made_on,
    use_by,
    frozen_on,
    thawed_on,
    frozen_on is not null and thawed_on is null and coalesce(frozen_on <= date(use_by, '+1 day'), 1) as is_frozen,
    case
        when frozen_on is null or frozen_on > date(use_by, '+1 day') then use_by
        when thawed_on is not null then date(
            thawed_on,
            (julianday(use_by) - julianday(made_on) - max(julianday(frozen_on) - julianday(made_on), 1)) || ' days'
        )
    end as last_on
from known

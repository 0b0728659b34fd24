create view batch_correction as
-- One row per earlier entry of a batch that was corrected: what was used of it may name that entry. grain: entry_id. needs: standing_batches, batches.
-- batch_id: the entry that counts now.
with recursive entry (batch_id, entry_id) as (
    select id, voids from standing_batches where voids is not null
    union all
    select entry.batch_id, earlier.voids
    from entry
    join batches as earlier on earlier.id = entry.entry_id
    where earlier.voids is not null
)
select
    batch_id,
    entry_id
from entry

-- name: kits
-- Equipment: what limits the day.
select id, name, station_id, capacity, capacity_unit, lead_s from equipment order by id

-- name: takes
-- What a batch of a recipe, or a plate of a dish, takes of equipment.
select recipe_id, equipment_id, quantity, hold_s, after_s from recipe_equipment

-- name: people
-- People and the stations they can hold.
select id, name, stations from people order by name

-- name: shifts
-- When people work.
select person_id, weekday, begins_at, ends_at from shifts

-- name: absences
-- Who is not there, from a day on.
select person_id, on_date, from_at, actor, id from standing_absences where on_date >= :day

-- name: overrules_of
-- Numbers that people said of one service, its covers or a dish of it, the newest first.
select id, origin, actor, number from standing_forecast_overrules
where served_on = :served_on and service = :service and recipe_id is :recipe_id order by id desc

-- name: absences_of
-- What was written of one person's being away on a day, the newest first.
select id, origin, actor, from_at from standing_absences where person_id = :person and on_date = :day order by id desc

-- name: tick_writer
-- Where a tick came from, and who wrote it.
select origin, actor from standing_task_ticks where id = :tick

-- name: stations
-- Stations in the kitchen's own order.
select id, name from stations order by position

-- name: ticks
-- What was ticked off today, newest first.
select t.id, t.kind, t.recipe_id, t.equipment_id, t.state, t.quantity, t.unit, t.recorded_at, t.actor, t.batch_id, t.ends_at
from standing_task_ticks as t where t.prep_on = :day order by t.id desc

-- name: came_of
-- What was written down with a tick: its batch, what of that is gone, what came out of the freezer. (log, id)
select 'batches', b.id from task_ticks as t join standing_batches as b on b.id = t.batch_id where t.id = :tick
union all
select 'batch_uses', u.id from task_ticks as t join standing_batch_uses as u on u.batch_id = t.batch_id where t.id = :tick
union all
select 'batch_freezes', f.id from task_ticks as t join standing_batch_freezes as f on f.recipe_id = t.recipe_id
  and f.request_id = t.request_id || '-' || f.lot_code where t.id = :tick

-- name: last_plan
-- The plan of a day as it was last laid out.
select plan from standing_prep_plans where prep_on = :day order by id desc limit 1

-- name: pieces_of_cuts
-- Cuts in use, with the piece that each comes from.
select r.id, i.id, i.name from recipes as r join components as c on c.recipe_id = r.id join items as i on i.id = c.item_id
where r.kind = 'cut' and r.status = 'active' order by r.name

-- name: lots_cut_up
-- Lots that batches of cuts name, separated by ';'.
select b.from_lots from standing_batches as b join recipes as r on r.id = b.recipe_id and r.kind = 'cut' where b.from_lots <> ''

-- name: batches_today
-- How many batches were made on a day: the next one's number.
select count(*) from batches where made_on = :day

-- name: frozen_lots
-- Batches of a recipe in the freezer, the oldest first.
select b.lot_code, b.quantity from standing_batches as b where b.recipe_id = :recipe and b.lot_code <> ''
  and coalesce((select f.what from standing_batch_freezes as f where f.recipe_id = b.recipe_id and f.lot_code = b.lot_code
    order by f.moved_on desc, f.id desc limit 1) = 'frozen', b.frozen_on is not null and b.thawed_on is null)
order by b.made_on, b.id

-- name: reached
-- Recipes that hold an item.
select distinct recipe_id from explosion where item_id = :item and amount > 0

-- name: stands_in
-- What may stand in for an item, or for a sub-recipe that holds it.
select coalesce(fr.name, fi.name), s.with_recipe_id, s.with_item_id, coalesce(wr.name, wi.name), wi.unit
from substitutes as s left join items as fi on fi.id = s.for_item_id left join recipes as fr on fr.id = s.for_recipe_id
left join items as wi on wi.id = s.with_item_id left join recipes as wr on wr.id = s.with_recipe_id
where s.for_item_id = :item or s.for_recipe_id in (select recipe_id from explosion where item_id = :item and amount > 0)
order by s.id

-- name: last_word
-- How an item stands: short, out or back.
select state from standing_shortages where item_id = :item order by id desc limit 1

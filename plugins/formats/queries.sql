-- name: recipe
-- One recipe as others may read it.
select name, kind, section, yield_text, active_s, passive_s from recipes where id = :id

-- name: lines
-- Its components as the cook wrote them.
select line from components where recipe_id = :id order by position

-- name: steps
-- Its method.
select text from method_steps where recipe_id = :id order by position

-- name: tools
-- What it is made on.
select e.name from recipe_equipment as x join equipment as e on e.id = x.equipment_id where x.recipe_id = :id order by e.name

-- name: changed
-- Day of the records.
select max(loaded_at) from loads

-- name: made
-- Recipes and items of which something was made or came that has a last day of use from a day on.
select distinct recipe_id from standing_batches where use_by >= :day
union select distinct item_id from standing_deliveries where use_by >= :day and kind = 'goods'

-- name: names
-- What things are called.
select id, name from items union all select id, name from recipes

-- name: hanging
-- Ageing lots that are not broken down yet, with the day they are meant for.
select l.lot_code, i.name, l.started_on, l.target_days from standing_ageing_lots as l join items as i on i.id = l.item_id
where l.target_days is not null and l.lot_code not in (select lot_code from standing_breakdowns where lot_code <> '')

-- name: pieces
-- Pieces with a programme, by name of the recipe.
select p.recipe_id, r.name, p.food, p.cut, p.shape, p.shape_factor, p.thickness_mm, p.width_mm, p.length_mm,
  p.fat_pct, p.water_pct, p.start_c, p.minimum_id, p.band_low_f, p.band_high_f, p.own_core_f, p.own_hold_s, p.own_rule,
  p.worked
from pieces as p join recipes as r on r.id = p.recipe_id
where :recipe is null or p.recipe_id = :recipe order by r.name

-- name: steps
-- Steps of the programmes, in order.
select recipe_id, kind, temp_f, temp_c, end_c, seconds, until_core_f, flips, humidity
from cooking_steps where :recipe is null or recipe_id = :recipe order by recipe_id, position

-- name: cooling
-- Readings of cooling pans that stand, by log and time, each with its log's rule and start: the last word written down
-- about them.
select '', c.log_code, coalesce(c.recipe_id, c.item_id), coalesce(r.name, i.name, ''), coalesce((select other.rule from standing_cooling_readings as other
    where other.log_code = c.log_code and other.rule <> '' order by other.id desc limit 1), 'cooked'),
  (select other.started_at from standing_cooling_readings as other
    where other.log_code = c.log_code and other.started_at is not null order by other.id desc limit 1), '', c.read_at, c.temp_f
from standing_cooling_readings as c left join recipes as r on r.id = c.recipe_id left join items as i on i.id = c.item_id
where :code is null or c.log_code = :code order by c.log_code, c.read_at, c.id

-- name: probes
-- Readings of the core that stand, by recipe, day, piece and time; step is that of the reading. What is heated again is a log
-- of its own, by how it is heated.
select date(c.read_at) || coalesce(c.batch_id, '') || coalesce(c.recipe_id, '') || case when c.piece = '' then c.id else '' end,
  c.piece, c.recipe_id, coalesce(r.name, ''), case when instr(:heated_again, ';' || lower(c.step) || ';') > 0 then lower(c.step) else '' end,
  null, c.step, c.read_at, c.core_f
from standing_probe_readings as c left join recipes as r on r.id = c.recipe_id
where :recipe is null or c.recipe_id = :recipe order by c.recipe_id, c.read_at, c.id

-- name: service
-- When the first service of a weekday opens.
select min(opens_at) from service_days where weekday = :weekday

-- name: pieces_behind
-- Pieces with a programme that a recipe is, or reaches through its components, each once; the recipe's own first.
with recursive within (recipe_id, depth) as (
  select :recipe, 0
  union
  select c.sub_recipe_id, within.depth + 1 from components as c
  join within on c.recipe_id = within.recipe_id
  where c.sub_recipe_id is not null and within.depth < 20
)
select p.recipe_id from pieces as p join within on within.recipe_id = p.recipe_id
group by p.recipe_id order by min(within.depth), p.recipe_id

-- name: kept_cooling_readings
-- Readings of a cooling log that stand: moment and °F.
select read_at, temp_f from standing_cooling_readings where log_code = :label

-- name: kept_probe_readings
-- Readings of one piece that stand: moment and °F.
select read_at, core_f from standing_probe_readings where piece = :label and recipe_id is :recipe

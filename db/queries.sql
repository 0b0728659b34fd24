-- name: events
-- What was written down about some things: one row each of count, batch made, delivery, use. `since` is the day of the
-- last count, else the day that the oldest batch still in date was made: what was before can't be on hand now.
-- The last two: the station of a count, and the instant [UTC] at which it was counted or made, or first written down here
-- (null: nobody knows), by which what is of the same day stands before or after a count.
with wanted as (select value as id from json_each(:ids)),
last as (
  select coalesce(item_id, recipe_id) as id, max(counted_on) as day from standing_counts
  where coalesce(item_id, recipe_id) in (select id from wanted) and counted_on <= :day group by 1
),
cut as materialized (
  select thing_id, min(broken_on) as day from breakdown_part where broken_on <= :day and last_on >= :day group by 1
),
since as (
  select w.id, coalesce(l.day, min(coalesce(k.day, :day), coalesce((select min(b.made_on) from batch_date as b
    where b.recipe_id = w.id and coalesce(b.last_on, '9') >= :day), :day))) as day, l.day is not null as is_counted
  from wanted as w left join last as l on l.id = w.id left join cut as k on k.thing_id = w.id
)
select s.id, 'count' as what, c.counted_on, c.quantity, '0' as less, null as use_by, c.id as lot, 0 as is_frozen,
  c.station_id as station, c.counted_at as at
from since as s join standing_counts as c on coalesce(c.item_id, c.recipe_id) = s.id and c.counted_on = s.day
where s.is_counted
union all
select s.id, 'made', b.made_on, b.quantity, '0', d.last_on, b.id, d.is_frozen, null,
  case when b.made_on = s.day then coalesce((select min(e.made_at) from batch_correction as f join batches as e on e.id = f.entry_id
    where f.batch_id = b.id), b.made_at) end
from since as s join standing_batches as b on b.recipe_id = s.id join batch_date as d on d.batch_id = b.id
where b.made_on <= :day and coalesce(d.last_on, '9') >= s.day
union all
select s.id, 'came', d.received_on, d.received, d.rejected, d.use_by, null, 0, null,
  case when d.received_on = s.day and d.origin = 'web' then (
    with recursive entry (voids, at) as (select d.voids, d.recorded_at union all
      select x.voids, x.recorded_at from entry join deliveries as x on x.id = entry.voids where cast(x.received as real) > 0)
    select min(at) from entry) end
from since as s join standing_deliveries as d on d.item_id = s.id
where d.kind = 'goods' and s.is_counted and d.received_on >= s.day and d.received_on <= :day
union all
select s.id, u.what, u.used_on, u.quantity, '0', null, u.batch_id, 0, null, case when u.used_on = s.day then u.at end
from since as s join (
  select coalesce(u.item_id, u.recipe_id, b.recipe_id) as id, u.what, u.used_on, u.quantity, coalesce(c.batch_id, u.batch_id) as batch_id,
    case when u.origin = 'web' then (
      with recursive entry (voids, at) as (select u.voids, u.recorded_at union all
        select x.voids, x.recorded_at from entry join batch_uses as x on x.id = entry.voids)
      select min(at) from entry) end as at
  from standing_batch_uses as u left join batch_correction as c on c.entry_id = u.batch_id left join batches as b on b.id = u.batch_id
) as u on u.id = s.id
where u.used_on >= s.day and u.used_on <= :day

-- name: draws
-- What batches made and plates sold took of some things, each since its day in :since (JSON, id -> day). The last three: when a
-- batch was made [UTC], the service in which plates were sold, and the recipe.
with since as materialized (select key as id, value as day from json_each(:since)),
lines as materialized (
  select s.id, s.day, c.recipe_id, c.quantity, r.yield_quantity,
    case when c.item_id is not null then coalesce(c.edible_yield, case when r.kind <> 'cut' then i.edible_yield end) end as share
  from since as s join components as c on c.item_id = s.id or c.sub_recipe_id = s.id join recipes as r on r.id = c.recipe_id
  left join items as i on i.id = c.item_id
)
select l.id, b.made_on, b.quantity, l.yield_quantity, l.quantity, l.share, b.id,
  case when b.made_on = l.day then coalesce((select min(e.made_at) from batch_correction as f join batches as e on e.id = f.entry_id
    where f.batch_id = b.id), b.made_at) end, null, l.recipe_id
from lines as l join standing_batches as b on b.recipe_id = l.recipe_id and b.made_on between l.day and :day
union all
select l.id, p.sold_on, cast(p.plates as text), l.yield_quantity, l.quantity, l.share, null, null, p.service, l.recipe_id
from lines as l join standing_plates_sold as p on p.recipe_id = l.recipe_id and p.sold_on between l.day and :day

-- name: changed_recipes
-- Every state of the recipes that changed after a day, in order; '' = it was not in the files.
select of_id, since_on, state from standing_book_versions where what = 'recipe' and of_id in (
  select of_id from standing_book_versions where what = 'recipe' and of_id in (
    select of_id from standing_book_versions where what = 'recipe' and since_on > :since) group by of_id having count(*) > 1)
order by since_on, id

-- name: item_yields
-- Items with a yield of their own.
select id, edible_yield from items where edible_yield is not null

-- name: made_of
-- Batches made and plates sold of some recipes between two days: when a batch was made [UTC], the service of plates.
select b.recipe_id, b.made_on, b.quantity, b.id, coalesce((select min(e.made_at) from batch_correction as f
  join batches as e on e.id = f.entry_id where f.batch_id = b.id), b.made_at), null
from standing_batches as b where b.recipe_id in (select value from json_each(:ids)) and b.made_on between :since and :day
union all
select recipe_id, sold_on, cast(plates as text), null, null, service from standing_plates_sold
where recipe_id in (select value from json_each(:ids)) and sold_on between :since and :day

-- name: cut_parts
-- What breakdowns gave up to a day: all since a day, and what is still in date; is_bought: goods of it were ever received;
-- the last: when it was first written down here [UTC].
select p.output_id, p.thing_id, p.broken_on, p.last_on,
  case when p.lot_code in (select lot_code from standing_ageing_lots) then p.lot_code else '' end, p.code, p.is_item,
  p.is_item and exists (select 1 from deliveries as d where d.item_id = p.thing_id and d.kind = 'goods' and d.stands = 1),
  p.unit, p.weight_g, p.pieces, p.portion_g, p.per_gram, (
    with recursive entry (voids, at, origin) as (
      select b.voids, b.recorded_at, b.origin from breakdowns as b where b.id = p.breakdown_id union all
      select x.voids, x.recorded_at, x.origin from entry join breakdowns as x on x.id = entry.voids)
    select min(at) from entry where origin = 'web')
from breakdown_part as p where p.broken_on <= :day and (p.broken_on >= :since or p.last_on >= :day) order by p.output_id

-- name: cut_lots
-- What a batch of a cut may name: ageing lots, and breakdowns by their code.
select lot_code from standing_ageing_lots where lot_code <> '' union select code from standing_breakdowns where code <> ''

-- name: cut_batches
-- Batches of what breakdowns gave, with what breakdowns had given before their tick; a lot may be weighed out up to two weeks
-- after it was ticked.
select b.id, b.recipe_id, b.made_on, b.quantity, b.from_lots, max(t.cut_before)
from standing_batches as b left join standing_task_ticks as t on t.batch_id = b.id and t.cut_before is not null
where b.made_on between date(:since, '-14 days') and :day
  and b.recipe_id in (select thing_id from breakdown_part where broken_on between :since and :day)
group by b.id

-- name: cut_taken
-- Breakdowns of some items, each since its day in :since (JSON, id -> day): item, day, weight on the board, ageing lot, what
-- that lot weighed when it was hung if that was since then, what a gram of the item is, the parts of its own cut, what a
-- batch of that takes, and when it was first written down here [UTC].
with since as materialized (select key as id, value as day from json_each(:since))
select s.id, b.broken_on, b.input_g, b.lot_code,
  (select a.start_g from standing_ageing_lots as a where a.lot_code = b.lot_code and b.lot_code <> '' and a.started_on >= s.day
    order by a.id desc limit 1),
  case when i.unit = 'g' then '1' else (select m.quantity from item_measures as m where m.item_id = i.id and m.measure = 'g') end,
  (select group_concat(p.output_id) from breakdown_part as p where p.breakdown_id = b.id and p.thing_id = b.cut_recipe_id),
  c.quantity, r.yield_quantity, (
    with recursive entry (voids, at, origin) as (
      select b.voids, b.recorded_at, b.origin union all
      select x.voids, x.recorded_at, x.origin from entry join breakdowns as x on x.id = entry.voids)
    select min(at) from entry where origin = 'web')
from since as s join items as i on i.id = s.id join components as c on c.item_id = i.id
join recipes as r on r.id = c.recipe_id and r.kind = 'cut'
join standing_breakdowns as b on b.cut_recipe_id = r.id and b.broken_on between s.day and :day order by b.id

-- name: facts_dishes
-- Every dish that is cooked, in or out of season.
select id, name, section, coalesce(from_on, '0000'), coalesce(to_on, '9999') from recipes
where kind = 'dish' and status = 'active' order by name

-- name: facts_paths
-- Every path of every recipe to an item; by-product credits aside.
select recipe_id, item_id, path, component_ids from explosion where amount > 0 order by recipe_id, path_no

-- name: facts_lines
-- Every line of a recipe: what it is, the sub-recipe it takes, whether a plate can go out without it.
select c.id, coalesce(i.name, r.name), c.sub_recipe_id, c.is_removable
from components as c left join items as i on i.id = c.item_id left join recipes as r on r.id = c.sub_recipe_id

-- name: facts_substitutes
-- What may stand in for a line of a dish; what is listed for that dish alone comes first.
select c.id, coalesce(i.name, r.name), s.with_item_id, s.with_recipe_id
from substitutes as s
join components as c on c.item_id = s.for_item_id or c.sub_recipe_id = s.for_recipe_id
join recipes as dish on dish.id = c.recipe_id and dish.kind = 'dish'
left join items as i on i.id = s.with_item_id left join recipes as r on r.id = s.with_recipe_id
where s.in_recipe_id is null or s.in_recipe_id = c.recipe_id
order by s.in_recipe_id is null, s.id

-- name: facts_surfaces
-- Which recipe passes over which surface.
select s.name, x.recipe_id from recipe_surfaces as x join surfaces as s on s.id = x.surface_id

-- name: facts_item_texts
-- Everything that names an item: its name, tags, products and their printed ingredients. kind: 'name' or 'ingredients'.
select id, 'name' as kind, name as text from items
union all select id, 'name', id from items
union all select item_id, 'name', tag from item_tags
union all select item_id, 'name', name from products where is_active = 1
union all select item_id, 'ingredients', ingredients from products where is_active = 1 and ingredients <> ''

-- name: facts_allergens
-- Every allergen with its group and what else it is called, in the order of the page.
select id, name, parent_id, also_called from allergens order by position

-- name: facts_groups
-- The regime's own list, and which allergens each entry takes in.
select r.code, r.name, g.allergen_id from allergen_regimes as r join allergen_groups as g using (regime, code)
where r.regime = :regime and r.is_listed = 1 order by r.rowid

-- name: facts_label_words
-- Words of an ingredient list that stand for an allergen.
select word, allergen_id from label_words where presence = 'contains'

-- name: keep_versions
-- Writes down every recipe and item that stands otherwise than when it was last written down, and those that are gone.
insert into book_versions (request_id, recorded_at, actor, origin, what, of_id, since_on, state)
with stands_now as (
  select 'item' as what, i.id as of_id,
    json_array(i.name, i.unit, i.category, i.edible_yield, y.yield_pct, y.process) as state
  from items as i left join reference_yields as y on y.id = i.reference_yield_id
  union all
  select 'recipe', r.id, json_object(
    'recipe', json_array(r.name, r.kind, r.yield_quantity, r.yield_unit, r.section, r.status, r.menu_price, r.target_cost_pct,
      r.from_on, r.to_on, coalesce(r.shrink, '0'), coalesce(r.trim, '0'), r.portion_quantity, r.joint, r.market_price,
      r.market_quantity),
    'lines', (select json_group_array(json_array(c.item_id, c.sub_recipe_id, c.quantity, c.edible_yield, c.line))
      from (select * from components where recipe_id = r.id order by position) as c),
    'by_products', (select json_group_array(json_array(b.item_id, b.quantity, b.credit_price, b.priced_quantity))
      from (select * from by_products where recipe_id = r.id order by position) as b))
  from recipes as r
),
last as (select what, of_id, state, since_on, max(id) from book_versions group by what, of_id)
select lower(hex(randomblob(16))), :now, 'load', 'load', n.what, n.of_id, max(:day, coalesce(l.since_on, '')), n.state
from stands_now as n left join last as l on l.what = n.what and l.of_id = n.of_id where n.state is not l.state
union all
select lower(hex(randomblob(16))), :now, 'load', 'load', l.what, l.of_id, max(:day, l.since_on), ''
from last as l left join stands_now as n on n.what = l.what and n.of_id = l.of_id where n.of_id is null and l.state <> '';

-- name: versions
-- Every recipe and item as it stood from a day on, in order of day.
select what, of_id, since_on, state from standing_book_versions order by since_on, id

-- name: earlier_names
-- Names of recipes that had another than they have now, in the order in which they had them.
with said as (select id, '{"recipe":[' || json_quote(name) || ',' as begins from recipes),
renamed as (
  select v.of_id from book_versions as v join said on said.id = v.of_id
  where v.what = 'recipe' and v.state <> '' and substr(v.state, 1, length(said.begins)) <> said.begins
)
select of_id, called from (
  select id as of_id, first_called as called, '' as since_on, 0 as number from recipes where first_called <> ''
  union all
  select of_id, json_extract(state, '$.recipe[0]'), since_on, id from standing_book_versions
  where what = 'recipe' and json_valid(state) and of_id in (select of_id from renamed)
) group by of_id, called order by min(since_on), min(number)

-- name: promoted
-- Promotions that count, in the order in which they come into force, each with the name that its version says.
select p.id, p.trial_id, p.trial, p.version, p.dish_id, p.from_on, p.to_on, p.actor, coalesce((
  select v.name from standing_trial_versions as v where v.trial_id = p.trial_id and v.version = p.version
  order by v.id desc limit 1), '')
from standing_promotions as p order by p.from_on, p.id

-- name: served
-- Every service in the log, booked and come.
select served_on, service, booked, covers from standing_covers order by served_on, service

-- name: sold_since
-- Plates of each dish in each service since a day.
select recipe_id, sold_on, service, sum(plates) from standing_plates_sold where sold_on >= :since
group by recipe_id, sold_on, service

-- name: service_week
-- The week's services.
select weekday, service, opens_at, closes_at, prep_from from service_days order by weekday, opens_at

-- name: closed
-- Days without service.
select on_date from holidays where supplier_id is null

-- name: overrules
-- People's numbers in place of the expected ones, the last word on each.
select served_on, service, recipe_id, number, actor, note from standing_forecast_overrules as o
where served_on >= :day and id = (select max(id) from standing_forecast_overrules as later
  where later.served_on = o.served_on and later.service = o.service and later.recipe_id is o.recipe_id)

-- name: made_recipes
-- Recipes in use by level: whatever uses a recipe stands before it.
select r.id, r.name, r.kind, r.section, r.station_id, r.yield_unit, r.yield_quantity, r.least_batch, r.pan,
  r.shelf_life_days, r.active_s, r.passive_s, r.from_on, r.to_on,
  (select sum(s.seconds) from cooking_steps as s where s.recipe_id = r.id and s.kind = 'bath') as bath_s, r.storage, r.no_date_mark
from recipes as r left join low_level as l on l.id = r.id
where r.status = 'active' order by coalesce(l.level, 0), r.id

-- name: recipe_lines
-- What one batch of each recipe in use takes.
select c.recipe_id, coalesce(c.item_id, c.sub_recipe_id), c.quantity, c.item_id is not null,
  case when c.item_id is not null then coalesce(c.edible_yield, case when r.kind <> 'cut' then i.edible_yield end) end
from components as c join recipes as r on r.id = c.recipe_id left join items as i on i.id = c.item_id
where r.status = 'active'

-- name: all_pars
-- What should be on hand when a day's first service opens; weekday null = every day.
select coalesce(item_id, recipe_id), weekday, quantity from pars

-- name: under_way
-- Work of the last days that was begun and neither finished nor lost since, the newest of each recipe; of a cut with what
-- breakdowns of its day had given before.
select t.recipe_id, t.quantity, t.ends_at, t.recorded_at, t.actor, t.prep_on, coalesce(t.cut_before, '0') from standing_task_ticks as t
where t.kind = 'make' and t.state = 'started' and t.prep_on >= :since and not exists (select 1 from standing_task_ticks as later
  where later.recipe_id = t.recipe_id and later.id > t.id and later.state in ('done', 'burnt', 'started'))

-- name: out_now
-- Dishes that are out: nobody cooks for them today.
select s.recipe_id from standing_shortages as s where s.recipe_id is not null and s.state = 'out'
  and s.id = (select max(x.id) from standing_shortages as x where x.recipe_id = s.recipe_id)

-- name: counted_twice
-- Things with two counts of one day that say different things and no time to tell which is later, until one is counted
-- again: on a later day, with its time, or with the same result as one before.
select distinct coalesce(a.item_id, a.recipe_id) from standing_counts as a join standing_counts as b
  on b.counted_on = a.counted_on and b.item_id is a.item_id and b.recipe_id is a.recipe_id and b.id > a.id
where a.counted_on >= :since and a.quantity <> b.quantity and a.station_id is b.station_id
  and a.counted_at is null and b.counted_at is null
  and not exists (select 1 from standing_counts as c where c.item_id is a.item_id and c.recipe_id is a.recipe_id
    and (c.counted_on > a.counted_on or (c.counted_on = a.counted_on and c.counted_at is not null)))
  and not exists (select 1 from standing_counts as c join standing_counts as d on d.item_id is c.item_id
    and d.recipe_id is c.recipe_id and d.counted_on = c.counted_on and d.quantity = c.quantity and d.id < c.id
    where c.item_id is a.item_id and c.recipe_id is a.recipe_id and c.counted_on = a.counted_on and c.id = (
      select max(x.id) from standing_counts as x
      where x.item_id is a.item_id and x.recipe_id is a.recipe_id and x.counted_on = a.counted_on))

-- name: work_days
-- Weekdays on which somebody has a shift.
select distinct weekday from shifts

-- name: search_names
-- Every name that can be looked for: its kind, the subject of its page, the name, a note, and further words of it.
select case when status = 'draft' then 'draft' when kind = 'dish' then 'dish' else 'recipe' end as kind, id, name,
  case when kind = 'dish' then section else kind end as note, '' as more
from recipes where status <> 'retired'
union all
select 'item', id, name, category, '' from items
union all
select 'supplier', id, name, kind, place from suppliers
union all
select 'product', p.supplier_id || '?item=' || p.item_id, p.name, s.name, p.brand || ' ' || p.code
from products as p join suppliers as s on s.id = p.supplier_id where p.is_active = 1
union all
select 'person', id, name, stations, '' from people

-- name: search_trials
-- The same of trials as they stand, one that begins so or all: a version that is written is a name between two loads.
select 'trial', trial_id, iif(name = '', trial, name), 'version ' || max(version), ''
from standing_trial_versions where :trial is null or trial_id = :trial group by trial_id

-- name: search_trials_had
-- The names that trials began with; what a version was called for a while is no name of before.
select 'trial', trial_id, trial from (select trial_id, trial, max(version) from standing_trial_versions
  where :trial is null or trial_id = :trial group by trial_id)

-- name: lots
-- Ageing lots that count, with the cut they are for and the breakdown that ended them, if any.
select a.lot_code, coalesce(i.name, a.item_id), a.cut_recipe_id, a.started_on, a.start_g, a.target_days, a.place, a.length_cm,
  a.price, d.price, d.priced_quantity,
  (select min(b.broken_on) from standing_breakdowns as b where b.lot_code = a.lot_code and b.lot_code <> ''), a.note
from standing_ageing_lots as a left join items as i on i.id = a.item_id
left join lot_receipt as o on o.lot_id = a.id left join deliveries as d on d.id = o.delivery_id where a.started_on <= :day order by a.started_on, a.lot_code

-- name: lot_weigh_ins
-- Weighings of every lot in order of day.
select lot_code, weighed_on, weight_g, temp_f, humidity_pct from standing_weigh_ins where weighed_on <= :day
order by weighed_on, id

-- name: lot_promises
-- Portions promised to services that are not past.
select id, lot_code, for_on, portions, portion_g, what_for, actor from standing_lot_reservations where for_on >= :day
order by for_on, id

-- name: lots_aged
-- What each lot weighed at the start and on the board, newest first, by the cut it was broken into.
select b.cut_recipe_id, a.start_g, b.input_g from standing_breakdowns as b
join standing_ageing_lots as a on a.lot_code = b.lot_code where b.broken_on <= :day order by b.broken_on desc, b.id desc

-- name: cut_shares
-- Cuts with their portion, trim, shrink, and the cuts that come out of the same piece.
select id, name, portion_quantity, coalesce(trim, '0'), coalesce(shrink, '0'), joint from recipes where kind = 'cut' order by name

-- name: cut_by_products
-- What each cut leaves: share of the weight that went in, and its credit for one gram where it is written.
select b.recipe_id, i.name, b.share, b.credit_price, b.priced_quantity from by_products as b
join items as i on i.id = b.item_id and i.unit = 'g' order by b.recipe_id, b.position

-- name: cut_breakdowns
-- Pieces broken down, newest first, with each weight and number of portions that came out.
select b.cut_recipe_id, b.code, b.broken_on, b.input_g, o.weight_g, o.pieces from standing_breakdowns as b
join standing_breakdown_outputs as o on o.breakdown_code = b.code and o.recipe_id is not null where b.broken_on <= :day
order by b.broken_on desc, b.id desc

-- name: lines_said
-- Component lines as they were written, with what they are of: of every recipe but one, and of every version of a trial.
select r.name, c.line from components as c join recipes as r on r.id = c.recipe_id where c.recipe_id <> :own
union all select iif(name = '', trial, name), lines from standing_trial_versions

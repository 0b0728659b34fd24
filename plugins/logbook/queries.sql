-- name: items
-- Every item with its unit, the cut that is made of it where there is one only, and the rule of its door temperature.
select i.id, i.name, i.unit, (select case when count(*) = 1 then r.id end from components as c
  join recipes as r on r.id = c.recipe_id and r.kind = 'cut' and r.status = 'active' where c.item_id = i.id),
  i.category, i.receiving_rule_id is not null, h.id, h.rule, h.temp_f, h.direction, h.edition, h.section, h.basis
from items as i left join holding_rules as h on h.id = i.receiving_rule_id order by i.name

-- name: item_measures
-- What one measure of an item is in its unit.
select item_id, measure, quantity from item_measures

-- name: recipes
-- Every recipe that is not retired, with the unit and size of a batch, and what a cut is made of.
select r.id, r.name, r.kind, r.yield_unit, r.yield_quantity, r.shelf_life_days, r.no_date_mark, coalesce(p.minimum_id, ''), coalesce(p.food, ''),
  case when r.kind = 'cut' then (select c.item_id from components as c where c.recipe_id = r.id) end
from recipes as r left join pieces as p on p.recipe_id = r.id where r.status <> 'retired' order by r.name

-- name: recipe_measures
-- What one measure of a recipe is in its yield unit.
select recipe_id, measure, quantity from recipe_measures

-- name: suppliers
-- Suppliers that the kitchen buys from.
select id, name, place from suppliers where is_active = 1 order by name

-- name: products
-- Products that are bought.
select p.id, p.name, p.supplier_id, p.item_id, p.pack_quantity, p.reviewed_on from products as p where p.is_active = 1 order by p.name

-- name: stations
-- Stations in their order.
select id, name from stations order by position, name

-- name: orders
-- Goods that were ordered and of which nothing came, due between two days, the nearest first: lines of the log that say so
-- (with their id), and lines of orders that were sent and that no delivery of those days answers (without one).
select d.id, d.supplier_id, s.name, d.item_id, i.name, d.product_id, coalesce(p.name, ''), d.unit, d.ordered, d.ordered_on, d.due_on
from standing_deliveries as d left join suppliers as s on s.id = d.supplier_id left join items as i on i.id = d.item_id
left join products as p on p.id = d.product_id
where d.kind = 'goods' and d.ordered is not null and d.due_on between :since and :until and cast(d.received as real) = 0
  and cast(d.ordered as real) > 0 and d.reject_reason = ''
union all
select null, o.supplier_id, s.name, o.item_id, i.name, o.product_id, coalesce(p.name, ''), o.unit, o.quantity, date(o.recorded_at), o.due_on
from standing_order_lines as o left join suppliers as s on s.id = o.supplier_id left join items as i on i.id = o.item_id
left join products as p on p.id = o.product_id
where o.state = 'sent' and cast(o.quantity as real) > 0 and o.due_on between :since and :until
  and not exists (select 1 from standing_deliveries as d where d.supplier_id = o.supplier_id and d.item_id = o.item_id
    and d.kind = 'goods' and (d.due_on = o.due_on or d.received_on between date(o.due_on, '-1 day') and date(o.due_on, '+3 days')))
order by 11, 3, 5

-- name: batches
-- Batches of the last weeks, and those in the freezer, newest first, with what was written down as taken from them.
with taken as materialized (
  select coalesce(c.batch_id, u.batch_id) as batch_id, group_concat(u.quantity, ';') as quantities
  from standing_batch_uses as u left join batch_correction as c on c.entry_id = u.batch_id where u.batch_id is not null group by 1
)
select b.id, b.recipe_id, coalesce(r.name, b.recipe_id), b.lot_code, b.made_on, b.unit, b.quantity, b.use_by, b.frozen_on, b.thawed_on,
  coalesce(t.quantities, ''), r.shelf_life_days, coalesce(r.no_date_mark, '')
from standing_batches as b left join recipes as r on r.id = b.recipe_id left join taken as t on t.batch_id = b.id
where b.made_on >= :since or b.frozen_on is not null order by b.made_on desc, b.id desc limit 600

-- name: freezes
-- Days on which batches went into the freezer or came out, in order, but for one entry.
select recipe_id, lot_code, what, moved_on from standing_batch_freezes where id <> :but order by moved_on, id

-- name: lots_known
-- Of some lot codes (JSON) those that are written down, with what each is of and its last day of use. Of a code that
-- several things came under, those that are in the recipe, at any depth; all of them where none is.
with came as (
  select d.lot_code, d.item_id, d.use_by,
    exists (select 1 from explosion as e where e.recipe_id = :recipe and e.item_id = d.item_id and e.amount > 0) as is_in
  from standing_deliveries as d where d.lot_code in (select value from json_each(:codes)) and cast(d.received as real) > 0
)
select c.lot_code, coalesce(i.name, c.item_id), c.use_by from came as c left join items as i on i.id = c.item_id
where c.is_in or not exists (select 1 from came as other where other.lot_code = c.lot_code and other.is_in)
union all select b.lot_code, coalesce(r.name, b.recipe_id), b.last_on from batch_date as b left join recipes as r on r.id = b.recipe_id
where b.lot_code in (select value from json_each(:codes))
union all select a.lot_code, coalesce(i.name, a.item_id), null from standing_ageing_lots as a left join items as i on i.id = a.item_id
where a.lot_code in (select value from json_each(:codes))
union all select k.code, coalesce(r.name, k.cut_recipe_id), null from standing_breakdowns as k left join recipes as r on r.id = k.cut_recipe_id
where k.code in (select value from json_each(:codes))

-- name: ageing
-- Pieces that age and are not broken down yet, with their last weight.
select a.lot_code, coalesce(i.name, a.item_id), a.item_id, a.start_g,
  (select w.weight_g from standing_weigh_ins as w where w.lot_code = a.lot_code order by w.weighed_on desc, w.id desc limit 1), a.started_on
from standing_ageing_lots as a left join items as i on i.id = a.item_id
where not exists (select 1 from standing_breakdowns as b where b.lot_code = a.lot_code and b.lot_code <> '') order by a.lot_code

-- name: receipts_to_hang
-- Goods of the last weeks that a cut is made of: those that age first, newest first, with what hangs of them already (but
-- for one entry).
select d.id, d.lot_code, coalesce(i.name, d.item_id), d.item_id, coalesce(s.name, d.supplier_id), d.received_on, d.received, d.rejected,
  coalesce((select group_concat(a.start_g, ';') from standing_ageing_lots as a join lot_receipt as o on o.lot_id = a.id
    where o.delivery_id = d.id and a.id <> :but), ''), coalesce(p.ages, 0)
from standing_deliveries as d left join items as i on i.id = d.item_id left join suppliers as s on s.id = d.supplier_id
join (select c.item_id, max(cast(r.shrink as real) > 0 or exists (select 1 from ageing_lots as a where a.item_id = c.item_id)) as ages
  from components as c join recipes as r on r.id = c.recipe_id and r.kind = 'cut' group by c.item_id) as p on p.item_id = d.item_id
where d.kind = 'goods' and d.unit = 'g' and cast(d.received as real) > cast(d.rejected as real) and d.received_on >= :since
order by coalesce(p.ages, 0) desc, d.received_on desc, d.id desc

-- name: hung
-- Every ageing lot: its code, item and days planned, the newest first.
select id, lot_code, item_id, target_days from standing_ageing_lots order by started_on desc, id desc

-- name: hooks
-- Places where pieces age, those used last first.
select place from standing_ageing_lots where place <> '' group by place order by max(id) desc limit 4

-- name: shellstock
-- Containers of shellstock of the last months whose tag has no last day of service yet.
select d.lot_code, coalesce(i.name, d.item_id), d.item_id, d.certificate, d.harvested_on, d.received_on
from standing_deliveries as d left join items as i on i.id = d.item_id
where d.certificate <> '' and d.harvested_on is not null and d.lot_code <> '' and d.received_on >= :since and d.received <> '0'
  and not exists (select 1 from standing_shellfish_tags as t where t.lot_code = d.lot_code and t.last_served_on is not null)
order by d.received_on desc

-- name: tags
-- Tags with what was written on them, and the container's delivery, newest first.
select d.lot_code, coalesce(i.name, d.item_id), d.certificate, d.harvested_on, d.harvest_area, d.received_on,
  (select t.last_served_on from standing_shellfish_tags as t where t.lot_code = d.lot_code order by t.id desc limit 1),
  (select t.emptied_on from standing_shellfish_tags as t where t.lot_code = d.lot_code order by t.id desc limit 1)
from standing_deliveries as d left join items as i on i.id = d.item_id
where d.certificate <> '' and d.harvested_on is not null and d.received <> '0' and d.received_on >= :since
order by d.received_on desc, d.id desc

-- name: pans
-- Readings of the cooling pans of the last two days, by pan and time.
select c.log_code, coalesce(c.recipe_id, ''), coalesce(r.name, i.name, ''), c.read_at, c.temp_f, c.rule, c.id, coalesce(c.item_id, ''), c.started_at
from standing_cooling_readings as c left join recipes as r on r.id = c.recipe_id left join items as i on i.id = c.item_id
where c.log_code in (select log_code from standing_cooling_readings where read_at >= :since) order by c.log_code, c.read_at, c.id

-- name: pan
-- Readings of one cooling pan.
select c.log_code, coalesce(c.recipe_id, ''), coalesce(r.name, i.name, ''), c.read_at, c.temp_f, c.rule, c.id, coalesce(c.item_id, ''), c.started_at
from standing_cooling_readings as c left join recipes as r on r.id = c.recipe_id left join items as i on i.id = c.item_id
where c.log_code = :code order by c.read_at, c.id

-- name: pan_of
-- The pan of one cooling reading.
select log_code from cooling_readings where id = :entry

-- name: pan_first
-- When a cooling pan was first read, but for one reading.
select min(read_at) from standing_cooling_readings where log_code = :code and id <> :but

-- name: rules
-- Rules of receiving, holding and reheating.
select id, rule, temp_f, direction, edition, section, basis, time_seconds from holding_rules

-- name: worked
-- What the cooking minimum of a recipe's piece goes by: food, the rule it names, how it was worked, words of its names.
-- A cut without a piece goes by what it is cut from.
select p.food, coalesce(p.minimum_id, ''), p.worked, r.name || ' ' || p.cut
from pieces as p join recipes as r on r.id = p.recipe_id where p.recipe_id = :recipe
union all select i.name, '', '', r.name
from recipes as r join components as c on c.recipe_id = r.id join items as i on i.id = c.item_id
where r.id = :recipe and r.kind = 'cut' and not exists (select 1 from pieces as p where p.recipe_id = r.id)

-- name: minimums
-- Cooking minimums with a temperature.
select id, food_class, min_temp_f, coalesce(hold_seconds, 0), edition, section, basis from cooking_minimums where min_temp_f is not null

-- name: places
-- Places where things are held, those checked last first.
select place from standing_hold_checks group by place order by max(read_at) desc limit 8

-- name: services
-- Services of the week.
select distinct service from service_days order by service

-- name: reasons
-- Reasons given for throwing away or sending back, the commonest first.
select reason from (select reason from standing_batch_uses where reason <> ''
  union all select reject_reason from standing_deliveries where reject_reason <> '') group by reason order by count(*) desc limit 6

-- name: plates_by_hand
-- Plates of a dish on a day that no till's file wrote down, at a service that may be the same.
select coalesce(sum(plates), 0) from standing_plates_sold where recipe_id = :dish and sold_on = :day and request_id not like 'till-%'
  and (service = :service or service = '' or :service = '')

-- name: till_mapping
-- How the till's file was read last.
select lines from standing_till_mappings order by id desc limit 1

-- name: lots_for
-- Lots that may have gone into a recipe: the newest deliveries of its items and batches of its sub-recipes; and of a cut the
-- breakdowns that gave it.
select name, lot_code from (
  select i.name as name, d.lot_code as lot_code, d.received_on as on_day, row_number() over (partition by d.item_id order by d.received_on desc, d.id desc) as newest
  from components as c join standing_deliveries as d on d.item_id = c.item_id join items as i on i.id = d.item_id
  where c.recipe_id = :recipe and d.lot_code <> '' and d.received_on <= :day and d.received <> '0'
  union all
  select r.name, b.lot_code, b.made_on, row_number() over (partition by b.recipe_id order by b.made_on desc, b.id desc)
  from components as c join standing_batches as b on b.recipe_id = c.sub_recipe_id join recipes as r on r.id = b.recipe_id
  where c.recipe_id = :recipe and b.lot_code <> '' and b.made_on <= :day
  union all
  select 'breakdown of ' || p.broken_on, p.code, p.broken_on, row_number() over (order by p.broken_on desc, p.output_id desc)
  from breakdown_part as p where p.thing_id = :recipe and p.code <> '' and p.broken_on <= :day and p.last_on >= :day
) where newest <= 2 order by name, newest limit 24

-- name: outputs_of
-- What a cut leaves: the portion itself, then its by-products.
select r.id, r.name from recipes as r where r.id = :recipe
union all select i.id, i.name from by_products as b join items as i on i.id = b.item_id where b.recipe_id = :recipe

-- name: ending
-- Batches, and portions of breakdowns, whose last day of use lies between two days, with their recipe.
select d.recipe_id, r.name, r.yield_unit, d.batch_id, d.lot_code
from batch_date as d join recipes as r on r.id = d.recipe_id where d.last_on between :first and :last
union all
select p.thing_id, r.name, r.yield_unit, null, p.code
from breakdown_part as p join recipes as r on r.id = p.thing_id where p.is_item = 0 and p.last_on between :first and :last

-- name: probed_last
-- What was probed last, each once.
select r.id, r.name from (select recipe_id, max(id) as newest from (select recipe_id, id from probe_readings order by id desc limit 400)
  where recipe_id is not null group by recipe_id order by newest desc limit :most) as p join recipes as r on r.id = p.recipe_id order by p.newest desc

-- name: stamp
-- How far the logs have grown that say what is on hand, and the last load.
select (select max(id) from counts), (select max(id) from batches), (select max(id) from batch_uses),
  (select max(id) from batch_freezes), (select max(id) from plates_sold), (select max(id) from deliveries),
  (select max(id) from breakdowns), (select max(id) from breakdown_outputs), (select max(id) from task_ticks),
  (select max(id) from loads), (select count(*) from loads)

-- name: trace_goods
-- Goods that came into the house between two days.
select id, item_id, lot_code, received_on, use_by from standing_deliveries
where kind = 'goods' and received_on between :since and :until and cast(received as real) > cast(rejected as real)
order by received_on, id

-- name: trace_batches
-- Batches made, and pieces broken down, between two days, with the lot codes that went in. What was broken down keeps its
-- ageing lot's code, and has that lot's goods behind it.
select 'batch ' || b.id, b.recipe_id, b.lot_code, b.made_on, coalesce(d.last_on, case when d.is_frozen then null else b.use_by end), b.from_lots
from standing_batches as b join batch_date as d on d.batch_id = b.id where b.made_on between :since and :until
union all
select 'breakdown ' || k.id, k.cut_recipe_id, k.code, k.broken_on, date(k.broken_on, (l.life_days - 1) || ' days'),
  k.lot_code || coalesce((select ';' || v.lot_code from standing_ageing_lots as a join lot_receipt as o on o.lot_id = a.id join deliveries as v on v.id = o.delivery_id
    where a.lot_code = k.lot_code and v.lot_code <> ''), '')
from standing_breakdowns as k left join recipe_life as l on l.recipe_id = k.cut_recipe_id where k.broken_on between :since and :until
union all
select 'ageing ' || a.id, a.item_id, a.lot_code, a.started_on, null, coalesce(v.lot_code, '')
from standing_ageing_lots as a left join lot_receipt as o on o.lot_id = a.id left join deliveries as v on v.id = o.delivery_id where a.started_on between :since and :until
order by 4, 1

-- name: trace_sales
-- Plates sold between two days, by dish, day and service.
select recipe_id, sold_on, service, sum(plates) from standing_plates_sold where sold_on between :since and :until
group by recipe_id, sold_on, service order by recipe_id, sold_on, service

-- name: trace_lines
-- What is directly in each recipe, and what was by a version that was in force on or after a day: what left a recipe
-- since was on its plates before.
select recipe_id, coalesce(item_id, sub_recipe_id) from components
union
select v.of_id, coalesce(json_extract(l.value, '$[0]'), json_extract(l.value, '$[1]'))
from (select of_id, state, lead(since_on) over (partition by of_id order by since_on, id) as until_on
    from standing_book_versions where what = 'recipe') as v,
  json_each(case when json_valid(v.state) then v.state else '{}' end, '$.lines') as l
where coalesce(v.until_on > :first, 1) and coalesce(json_extract(l.value, '$[0]'), json_extract(l.value, '$[1]')) is not null

-- name: trace_names
-- Names of items and recipes.
select id, name from recipes union all select id, name from items

-- name: trace_life
-- Days that items and recipes keep.
select id, shelf_life_days from items union all select id, shelf_life_days from recipes

-- name: trace_days
-- First and last day on which a lot code was written down, as the code of a lot or among those that went into a batch.
select min(day), max(day) from (
  select received_on as day from standing_deliveries where lot_code = :lot and lot_code <> ''
  union all select made_on from standing_batches where lot_code = :lot and lot_code <> ''
  union all select started_on from standing_ageing_lots where lot_code = :lot
  union all select broken_on from standing_breakdowns where code = :lot
  union all select made_on from standing_batches where from_lots <> '' and instr(';' || replace(from_lots, '; ', ';') || ';', ';' || :lot || ';') > 0)

-- name: known_lots
-- The newest lot codes, of goods and of batches.
select lot_code from (select lot_code, received_on as day from standing_deliveries where lot_code <> ''
  union all select lot_code, made_on from standing_batches where lot_code <> '') order by day desc limit 300

-- name: dish_names
-- Dishes, by name.
select id, name from recipes where kind = 'dish' and status <> 'draft' order by name

-- name: receipts
-- Goods that came to the door, with what is asked of a receipt line and how much of them was sent back.
select d.id, d.lot_code, d.received, d.unit, coalesce(p.name, ''), d.description, coalesce(i.name, d.item_id), coalesce(s.name, d.supplier_id),
  coalesce(s.place, ''), d.shipped_from, d.received_where, d.received_on, d.lot_source, d.document_kind, d.document,
  case when cast(d.rejected as real) > 0 then d.rejected else '' end
from standing_deliveries as d left join products as p on p.id = d.product_id left join items as i on i.id = d.item_id
left join suppliers as s on s.id = d.supplier_id
where d.kind = 'goods' and cast(d.received as real) > 0
  and case when :ids = '' then d.received_on between :first and :last else instr(:ids, ',' || d.id || ',') > 0 end
order by d.received_on, d.id

-- name: paid
-- What one item cost at the door on its last deliveries, the oldest first: money, and what it bought in the item's unit.
select price, priced_quantity from (
  select d.id, d.received_on, d.price, d.priced_quantity from standing_deliveries as d join items as i on i.id = d.item_id
  where d.item_id = :item and d.kind = 'goods' and d.unit = i.unit and d.price is not null and d.priced_quantity is not null
    and d.id <> :replaces order by d.received_on desc, d.id desc limit 9
) order by received_on, id

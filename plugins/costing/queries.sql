-- name: stamp
-- Table and its last row: each changes with every load and every row written, for the logs only grow.
select 'loads', coalesce(max(id), 0) from loads union all
select 'deliveries', coalesce(max(id), 0) from deliveries union all
select 'counts', coalesce(max(id), 0) from counts union all
select 'breakdowns', coalesce(max(id), 0) from breakdowns union all
select 'breakdown_outputs', coalesce(max(id), 0) from breakdown_outputs union all
select 'plates_sold', coalesce(max(id), 0) from plates_sold union all
select 'batch_uses', coalesce(max(id), 0) from batch_uses union all
select 'ageing_lots', coalesce(max(id), 0) from ageing_lots union all
select 'book_versions', coalesce(max(id), 0) from book_versions

-- name: items
-- Items with the published yield that the kitchen chose, if any.
select i.id, i.name, i.unit, i.category, i.edible_yield, y.yield_pct, y.process
from items as i left join reference_yields as y on y.id = i.reference_yield_id

-- name: recipes
-- Every recipe, dish and cut.
select id, name, kind, yield_quantity, yield_unit, section, status, menu_price, target_cost_pct, from_on, to_on,
  coalesce(shrink, '0'), coalesce(trim, '0'), portion_quantity, joint, market_price, market_quantity from recipes

-- name: components
-- Lines of every recipe in their order.
select id, recipe_id, item_id, sub_recipe_id, quantity, edible_yield, line from components order by recipe_id, position

-- name: by_products
-- What cuts leave, with their own credit where they have one.
select recipe_id, item_id, quantity, credit_price, priced_quantity from by_products order by recipe_id, position

-- name: deliveries
-- Lines of delivery notes that count, goods and money, in the unit of their item.
select d.received_on, d.kind, d.supplier_id, d.document, d.item_id, coalesce(p.name, ''), d.received, d.rejected, d.price,
  d.priced_quantity, d.credits, d.unit
from standing_deliveries as d left join products as p on p.id = d.product_id
order by d.received_on, d.id

-- name: quotes
-- What suppliers ask for products that are still sold.
select p.item_id, q.quoted_on, p.name, q.price, q.priced_quantity from price_quotes as q
join products as p on p.id = q.product_id and p.is_active = 1 order by q.quoted_on, p.name

-- name: counts
-- What was on hand, by item and day: quantity, station, instant, id.
select item_id, counted_on, quantity, station_id, counted_at, id from standing_counts where item_id is not null order by counted_on, id

-- name: breakdowns
-- Pieces broken down.
select code, cut_recipe_id, broken_on, input_g, lot_code, note from standing_breakdowns order by broken_on, id

-- name: outputs
-- What came out of them; neither recipe nor item = loss.
select breakdown_code, recipe_id, item_id, weight_g, pieces from standing_breakdown_outputs order by id

-- name: lot_paid
-- What an ageing lot weighed at its start and cost.
select a.start_g, a.price, d.price, d.priced_quantity from standing_ageing_lots as a
left join lot_receipt as o on o.lot_id = a.id left join deliveries as d on d.id = o.delivery_id where a.lot_code = :lot

-- name: sold
-- Plates sold between two days, by dish; sales: money written down, one text a row that has it.
select recipe_id, sum(plates), sum(case when sales is null then plates else 0 end), group_concat(sales, ' ')
from standing_plates_sold where sold_on between :since and :until group by recipe_id

-- name: served
-- Days on which anything was sold, in order.
select distinct sold_on from standing_plates_sold where sold_on between :since and :until order by sold_on

-- name: thrown
-- Waste log between two days: of what, how much, why.
select coalesce(u.recipe_id, b.recipe_id), u.item_id, u.quantity, u.reason from standing_batch_uses as u
left join batches as b on b.id = u.batch_id where u.what = 'discarded' and u.used_on between :since and :until

-- name: count_days
-- Days on which items were counted, newest first.
select counted_on, count(distinct item_id) from standing_counts where item_id is not null and counted_on <= :until
group by counted_on order by counted_on desc limit 60

-- name: counted_recipes
-- Counts of sub-recipes and cuts on two days: quantity, station, instant, id.
select recipe_id, counted_on, quantity, station_id, counted_at, id from standing_counts
where recipe_id is not null and counted_on in (:opened, :closed) order by id

-- name: hanging
-- Ageing lots that hang on a day, at their start weight.
select a.item_id, a.start_g from standing_ageing_lots as a join items as i on i.id = a.item_id and i.unit = 'g'
where a.started_on <= :day and not exists (select 1 from standing_breakdowns as b
  where b.lot_code = a.lot_code and b.lot_code <> '' and b.broken_on <= :day)

-- name: next_day
-- The day after a day.
select date(:day, '+1 day')

-- name: substitutes
-- What may stand in for a thing, or for a sub-recipe that holds it; with the units of both and the new one's measures.
select s.id, coalesce(s.for_item_id, s.for_recipe_id), coalesce(fi.name, fr.name), coalesce(s.with_item_id, s.with_recipe_id),
  coalesce(wi.name, wr.name), coalesce(s.in_recipe_id, ''), coalesce(inside.name, ''), s.ratio, s.ratio_unit,
  coalesce(fi.unit, fr.yield_unit), coalesce(wi.unit, wr.yield_unit),
  coalesce((select json_group_object(m.measure, m.quantity) from item_measures as m where m.item_id = s.with_item_id),
    '{}'),
  coalesce((select json_group_object(m.measure, m.quantity) from recipe_measures as m where m.recipe_id = s.with_recipe_id),
    '{}')
from substitutes as s
left join items as fi on fi.id = s.for_item_id left join recipes as fr on fr.id = s.for_recipe_id
left join items as wi on wi.id = s.with_item_id left join recipes as wr on wr.id = s.with_recipe_id
left join recipes as inside on inside.id = s.in_recipe_id
where :subject in (s.for_item_id, s.for_recipe_id)
  or s.for_recipe_id in (select recipe_id from explosion where item_id = :subject and amount > 0)
order by s.id

-- name: stamp
-- Changes with every load and every row written: the logs only grow.
select (select coalesce(max(id), 0) from loads), (select coalesce(max(id), 0) from deliveries), (select coalesce(max(id), 0) from counts),
  (select coalesce(max(id), 0) from breakdowns), (select coalesce(max(id), 0) from breakdown_outputs),
  (select coalesce(max(id), 0) from plates_sold), (select coalesce(max(id), 0) from batch_uses)

-- name: items
-- Items with the published yield that the kitchen chose, if any.
select i.id, i.name, i.unit, i.category, i.edible_yield, y.yield_pct, y.process
from items as i left join reference_yields as y on y.id = i.reference_yield_id

-- name: recipes
-- Every recipe, dish and cut.
select id, name, kind, yield_quantity, yield_unit, section, status, menu_price, target_cost_pct, from_on, to_on,
  coalesce(shrink, '0'), coalesce(trim, '0'), portion_quantity from recipes

-- name: components
-- Lines of every recipe in their order.
select id, recipe_id, item_id, sub_recipe_id, quantity, edible_yield, line from components order by recipe_id, position

-- name: by_products
-- What cuts leave, with their own credit where they have one.
select recipe_id, item_id, quantity, credit_price, priced_quantity from by_products order by recipe_id, position

-- name: deliveries
-- Lines of delivery notes that count, goods and money, in the unit of their item.
select d.received_on, d.kind, d.supplier_id, d.document, d.item_id, coalesce(p.name, ''), d.received, d.rejected, d.price, d.priced_quantity
from standing_deliveries as d join items as i on i.id = d.item_id and i.unit = d.unit left join products as p on p.id = d.product_id
order by d.received_on, d.id

-- name: quotes
-- What suppliers ask for products that are still sold.
select p.item_id, q.quoted_on, p.name, q.price, q.priced_quantity from price_quotes as q
join products as p on p.id = q.product_id and p.is_active = 1 order by q.quoted_on, p.name

-- name: counts
-- What was on hand, by item and day.
select item_id, counted_on, quantity from standing_counts where item_id is not null order by counted_on, id

-- name: breakdowns
-- Pieces broken down.
select code, cut_recipe_id, broken_on, input_g from standing_breakdowns order by broken_on, id

-- name: outputs
-- What came out of them; neither recipe nor item = loss.
select breakdown_code, recipe_id, item_id, weight_g, pieces from standing_breakdown_outputs order by id

-- name: sold
-- Plates sold between two days, by dish; sales: money written down, one text a row that has it.
select recipe_id, sum(plates), sum(case when sales is null then plates else 0 end), group_concat(sales, ' ')
from standing_plates_sold where sold_on between :since and :until group by recipe_id

-- name: thrown
-- Waste log between two days: of what, how much, why.
select coalesce(u.recipe_id, b.recipe_id), u.item_id, u.quantity, u.reason from standing_batch_uses as u
left join batches as b on b.id = u.batch_id where u.what = 'discarded' and u.used_on between :since and :until

-- name: count_days
-- Days on which items were counted, newest first.
select counted_on, count(distinct item_id) from standing_counts where item_id is not null and counted_on <= :until
group by counted_on order by counted_on desc limit 60

-- name: next_day
-- The day after a day.
select date(:day, '+1 day')

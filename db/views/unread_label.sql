create view unread_label as
-- One row per label that nobody has read, which makes an item not reviewed. grain: kind, id. needs: items, products, standing_deliveries, by_products, explosion.
-- kind: 'product', one that the kitchen buys; 'seen', goods taken in under a name that is not among the supplier's
-- products, until it is; 'no product', an item that nothing is bought as and nothing leaves over.
-- id: of the product, of the delivery's line, or of the item. name: what it was sold as; the item's own for 'no product'.
-- supplier_id: null for 'no product'. is_printed: 1 where its ingredients are written down.
with seen as (
    select line.id, line.description, line.item_id, line.supplier_id
    from standing_deliveries as line
    where line.product_id is null and line.description <> ''
        and cast(line.received as real) > cast(line.rejected as real)
        and not exists (select 1 from products as product where product.supplier_id = line.supplier_id
            and product.item_id = line.item_id and lower(product.name) = lower(line.description))
)
select 'product' as kind, product.id, product.name, product.item_id, product.supplier_id,
    product.ingredients <> '' as is_printed
from products as product
where product.is_active = 1 and product.reviewed_on is null
union all
select 'seen', cast(seen.id as text), seen.description, seen.item_id, seen.supplier_id, 0 from seen
union all
select 'no product', item.id, item.name, item.id, null, 0
from items as item
where not exists (select 1 from products as product where product.item_id = item.id and product.is_active = 1)
    and item.id not in (select seen.item_id from seen)
    and not exists (select 1 from by_products as left_over join explosion as part
        on part.recipe_id = left_over.recipe_id and part.amount > 0 and part.item_id <> item.id
        where left_over.item_id = item.id)

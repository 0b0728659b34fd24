create view item_review as
-- One row per item: how much of what it is bought as has been read. grain: item_id. needs: items, products.
-- product_count: active products that suppliers sell as this item.
-- unread_count: those whose label, specification or letter nobody has read.
-- oldest_review_on: day of the oldest review among active products; null when none was read.
-- review: 'reviewed', 'not reviewed' where any active product is unread, 'no product' where nothing is bought as it.
select
    item.id as item_id,
    item.name as item,
    item.category,
    count(product.id) as product_count,
    count(product.id) - count(product.reviewed_on) as unread_count,
    min(product.reviewed_on) as oldest_review_on,
    case
        when count(product.id) = 0 then 'no product'
        when count(product.id) > count(product.reviewed_on) then 'not reviewed'
        else 'reviewed'
    end as review
from items as item
left join products as product on product.item_id = item.id and product.is_active = 1
group by item.id

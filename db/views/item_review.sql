create view item_review as
-- One row per item: how much of what it is bought as has been read. grain: item_id. needs: items, products, unread_label.
-- product_count: active products that suppliers sell as this item.
-- unread_count: labels that nobody has read, goods seen at the door and not yet among the products included.
-- oldest_review_on: day of the oldest review among active products; null when none was read.
-- review: 'reviewed'; 'not reviewed' where any label is unread; 'no product' where nothing is bought as it; 'left over'
-- where nothing is but a recipe leaves it over, and it declares what goes into that.
with bought as (
    select item_id, count(*) as product_count, min(reviewed_on) as oldest
    from products where is_active = 1 group by item_id
), unread as (
    select item_id, sum(kind <> 'no product') as label_count from unread_label group by item_id
)
select
    item.id as item_id,
    item.name as item,
    item.category,
    coalesce(bought.product_count, 0) as product_count,
    coalesce(unread.label_count, 0) as unread_count,
    bought.oldest as oldest_review_on,
    case
        when unread.label_count > 0 then 'not reviewed'
        when unread.label_count = 0 then 'no product'
        when bought.product_count is null then 'left over'
        else 'reviewed'
    end as review
from items as item
left join bought on bought.item_id = item.id
left join unread on unread.item_id = item.id

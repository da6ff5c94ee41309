module sapwell

go 1.26

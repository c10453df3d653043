"""What has been: rounds kept, work done on time, time spent and out of service, told from the record."""

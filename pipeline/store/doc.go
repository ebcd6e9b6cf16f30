// Package store reads and writes object stores that speak the S3 protocol: the
// exports, tables and runs whose paths begin with s3://.
//
// Where the store is and who asks comes from the environment alone:
// AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY and, for passing credentials,
// AWS_SESSION_TOKEN; AWS_REGION (or AWS_DEFAULT_REGION); AWS_ENDPOINT_URL (or
// AWS_ENDPOINT_URL_S3, which holds before it) for any other store than the
// protocol's first. The connection is encrypted unless the endpoint says http://.
//
// A request that the store is too busy for, or that is lost on the way, is sent
// again, five times in all; a transfer that breaks off goes on where it broke. Every
// call ends with its context. An object that changes while it is read is an error: a
// digest over two versions would be that of neither.
package store

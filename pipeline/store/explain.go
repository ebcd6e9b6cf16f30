package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"net/url"

	"github.com/minio/minio-go/v7"
)

// errChanged says that an object is not what was listed.
var errChanged = errors.New("changed while it was read; run the scan again")

// explain says in the user's words what a store answered, and what to do. what is
// the deed: list, read, write or remove.
func (s *Store) explain(ctx context.Context, err error, what string, at Place) error {
	if err == nil {
		return nil
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if errors.Is(err, errChanged) {
		return fmt.Errorf("%s: %w", at, err)
	}
	var answer minio.ErrorResponse
	if !errors.As(err, &answer) {
		var on *url.Error
		if errors.As(err, &on) {
			return fmt.Errorf("%s: cannot reach the object store at %s: %w; check AWS_ENDPOINT_URL and the network", at, s.endpoint, on.Err)
		}
		return fmt.Errorf("%s: %s: %w", at, what, err)
	}
	switch answer.Code {
	case "NoSuchBucket", "InvalidBucketName":
		return fmt.Errorf("%s: %w: there is no bucket %q at %s; mend the name, or AWS_ENDPOINT_URL", at, fs.ErrNotExist, at.Bucket, s.endpoint)
	case "NoSuchKey":
		return fmt.Errorf("%s: %w", at, fs.ErrNotExist)
	case "PreconditionFailed":
		return fmt.Errorf("%s: %w", at, errChanged)
	case "InvalidAccessKeyId", "SignatureDoesNotMatch", "ExpiredToken", "InvalidToken", "TokenRefreshRequired":
		return fmt.Errorf("%s: %w: the store does not take the credentials (%s); check AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY and AWS_SESSION_TOKEN",
			at, fs.ErrPermission, answer.Code)
	case "PermanentRedirect", "AuthorizationHeaderMalformed", "IllegalLocationConstraintException":
		return fmt.Errorf("%s: the bucket is in another region (%s); set AWS_REGION", at, answer.Message)
	case "RequestTimeTooSkewed":
		return fmt.Errorf("%s: the store's clock and this machine's are too far apart; set this machine's", at)
	}
	switch {
	case answer.StatusCode == http.StatusForbidden || answer.Code == "AccessDenied":
		return fmt.Errorf("%s: %w: the store does not let these credentials %s it; give the key of AWS_ACCESS_KEY_ID that right", at, fs.ErrPermission, what)
	case answer.StatusCode >= 500 || answer.StatusCode == http.StatusTooManyRequests:
		return fmt.Errorf("%s: the store failed to %s it, %d times (%d %s); run the scan again later", at, what, tries, answer.StatusCode, answer.Code)
	}
	return fmt.Errorf("%s: %s: %s (%d %s)", at, what, answer.Message, answer.StatusCode, answer.Code)
}

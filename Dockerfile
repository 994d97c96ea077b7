# A static program in an empty image, not run as root.
FROM golang:1.26.8 AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=0 go build -trimpath -ldflags '-s -w' -o /bot ./cmd/bot && mkdir -m 1777 /scratch

FROM scratch
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/
COPY --from=build /usr/share/zoneinfo /usr/share/zoneinfo
COPY --from=build /scratch /tmp
COPY --from=build /bot /bot
USER 65534:65534
# 8080: the webhook; 8081: probes and figures, for the operator alone.
ENV LISTEN_OPS=:8081
EXPOSE 8080 8081
ENTRYPOINT ["/bot"]
CMD ["serve"]

# A static program in an empty image, not run as root.
FROM golang:1.26 AS build
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
EXPOSE 8080
ENTRYPOINT ["/bot"]
CMD ["serve"]

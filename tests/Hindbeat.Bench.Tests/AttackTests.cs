using System.Net;
using System.Net.Sockets;
using System.Net.WebSockets;
using System.Text;
using Hindbeat.Units;

namespace Hindbeat.Bench.Tests;

/// <summary>What other pages, other machines and odd addresses get: nothing.</summary>
[Collection(OneBrowser.Name)]
public class AttackTests(BenchInABrowser bench)
{
    [Theory]
    [InlineData("evil.example")]
    [InlineData("evil.example:80")]
    [InlineData("127.0.0.1.evil.example")]
    [InlineData("")]
    public async Task A_foreign_or_empty_host_is_refused(string host) =>
        Assert.Equal(HttpStatusCode.BadRequest, await Status($"GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"));

    [Theory]
    [InlineData("/", "http://evil.example")]
    [InlineData("/", "null")]
    [InlineData("/_blazor/negotiate?negotiateVersion=1", "http://evil.example")]
    [InlineData("/_blazor/negotiate?negotiateVersion=1", "http://127.0.0.1:1")]
    public async Task A_request_from_another_origin_is_refused(string path, string origin)
    {
        string method = path == "/" ? "GET" : "POST";
        Assert.Equal(HttpStatusCode.Forbidden, await Status(
            $"{method} {path} HTTP/1.1\r\nHost: {bench.Address.Authority}\r\nOrigin: {origin}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"));
    }

    /// <summary>Whatever answers at all is tried as another host's page, another origin's script and another site's picture would.</summary>
    [Fact]
    public async Task No_address_answers_another_host_another_origin_or_another_site()
    {
        var routes = bench.Server.Routes.Select(route => (route.Method, Path: Filled(route.Pattern))).Distinct().ToArray();
        Assert.Contains(routes, route => route is ("POST", "/add"));
        Assert.Contains(routes, route => route.Path.StartsWith("/practice/", StringComparison.Ordinal));
        Assert.Contains(routes, route => route.Path == "/_blazor");
        foreach ((string method, string path) in routes)
        {
            string rest = "Content-Length: 0\r\nConnection: close\r\n\r\n", own = $"{method} {path} HTTP/1.1\r\nHost: {bench.Address.Authority}\r\n";
            Assert.Equal((path, HttpStatusCode.BadRequest), (path, await Status($"{method} {path} HTTP/1.1\r\nHost: evil.example\r\n{rest}")));
            Assert.Equal((path, HttpStatusCode.Forbidden), (path, await Status($"{own}Origin: http://evil.example\r\n{rest}")));
            Assert.Equal((path, HttpStatusCode.Forbidden), (path, await Status($"{own}Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: no-cors\r\nSec-Fetch-Dest: image\r\n{rest}")));
        }
    }

    /// <summary>What is sent to the bench is taken only with the page's token; the framework's own connection is held to its origin alone.</summary>
    [Fact]
    public async Task Nothing_is_taken_without_the_page_s_token()
    {
        string[] posts = [.. bench.Server.Routes.Where(route => route.Method == "POST" && !route.Pattern.StartsWith("/_", StringComparison.Ordinal)).Select(route => Filled(route.Pattern)).Distinct()
            .Where(path => path.StartsWith("/add", StringComparison.Ordinal) || path.StartsWith("/export/", StringComparison.Ordinal) || path.StartsWith("/practice/", StringComparison.Ordinal))];
        Assert.Equal(7, posts.Length);
        foreach (string path in posts)
        {
            Assert.Equal((path, HttpStatusCode.Forbidden), (path, await Status(
                $"POST {path}?name=x&rate=48000&over=click&told=1:38 HTTP/1.1\r\nHost: {bench.Address.Authority}\r\nContent-Length: 4\r\nConnection: close\r\n\r\nabcd")));
        }
    }

    /// <summary>A route's pattern with something in each of its places.</summary>
    private string Filled(string pattern) => System.Text.RegularExpressions.Regex.Replace(pattern, @"\{([a-zA-Z]+)[^}/]*\}+(\))?\}?", match => match.Groups[1].Value.ToLowerInvariant() switch
    {
        "study" or "id" => bench.Whole.Id,
        "percent" => "50",
        "paper" => "a4",
        "which" => "a",
        _ => "x",
    });

    [Fact]
    public async Task The_page_itself_may_negotiate() =>
        Assert.Equal(HttpStatusCode.OK, await Status(
            $"POST /_blazor/negotiate?negotiateVersion=1 HTTP/1.1\r\nHost: {bench.Address.Authority}\r\nOrigin: http://{bench.Address.Authority}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"));

    [Fact]
    public async Task A_web_socket_opens_for_the_page_itself_and_for_no_other_origin()
    {
        var address = new Uri($"ws://{bench.Address.Authority}/_blazor");
        using (var own = new ClientWebSocket())
        {
            own.Options.SetRequestHeader("Origin", $"http://{bench.Address.Authority}");
            await own.ConnectAsync(address, CancellationToken.None);
            Assert.Equal(WebSocketState.Open, own.State);
        }

        using var foreign = new ClientWebSocket();
        foreign.Options.SetRequestHeader("Origin", "http://evil.example");
        foreign.Options.CollectHttpResponseDetails = true;
        await Assert.ThrowsAsync<WebSocketException>(() => foreign.ConnectAsync(address, CancellationToken.None));
        Assert.Equal(HttpStatusCode.Forbidden, foreign.HttpStatusCode);
    }

    [Theory]
    [InlineData("/study/no-such-study")]
    [InlineData("/study/..%2f..%2f..%2fetc%2fpasswd")]
    [InlineData("/study/%2e%2e%2f%2e%2e%2fetc%2fpasswd")]
    [InlineData("/study/..%5c..%5cwindows%5cwin.ini")]
    [InlineData("/study/C:%5CWindows")]
    [InlineData("/study/a%00b")]
    [InlineData("/study/%27%20OR%201=1--")]
    [InlineData("/sound/no-such-study/original")]
    [InlineData("/sound/no-such-study/rebuild?swing=1")]
    [InlineData("/sound/no-such-study/slow/50")]
    [InlineData("/study/no-such-study/sheets/a4")]
    [InlineData("/sound/..%2f..%2fetc%2fpasswd/original")]
    [InlineData("/sound/../../etc/passwd")]
    [InlineData("/fonts/..%2f..%2fHindbeat.Bench.dll")]
    [InlineData("/no/such/page")]
    public async Task Unknown_and_path_like_ids_are_not_found(string path)
    {
        HttpStatusCode status = await Status($"GET {path} HTTP/1.1\r\nHost: {bench.Address.Authority}\r\nConnection: close\r\n\r\n");
        Assert.Contains(status, new[] { HttpStatusCode.NotFound, HttpStatusCode.BadRequest });
    }

    [Fact]
    public async Task An_unknown_rebuild_and_the_sound_of_a_lost_file_are_not_found()
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        Assert.Equal(HttpStatusCode.BadRequest, (await client.GetAsync($"sound/{bench.Whole.Id}/rebuild?swing=lots")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await client.GetAsync($"sound/{bench.Whole.Id}/rebuild?swing=1e9")).StatusCode);
        Assert.Equal(HttpStatusCode.BadRequest, (await client.GetAsync($"sound/{bench.Whole.Id}/rebuild?from=NaN")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await client.GetAsync($"sound/{bench.Whole.Id}/slow/1")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await client.GetAsync($"sound/{bench.Whole.Id}/blind/guessed/a")).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await client.GetAsync($"sound/{bench.Gone.Id}/original")).StatusCode);
    }

    /// <summary>W3C Fetch Metadata: what another page's picture, sound or frame asks for is refused; following a link is not.</summary>
    [Theory]
    [InlineData("cross-site", "no-cors", "image", HttpStatusCode.Forbidden)]
    [InlineData("same-site", "no-cors", "audio", HttpStatusCode.Forbidden)]
    [InlineData("cross-site", "navigate", "iframe", HttpStatusCode.Forbidden)]
    [InlineData("cross-site", "navigate", "document", HttpStatusCode.OK)]
    [InlineData("same-origin", "cors", "empty", HttpStatusCode.OK)]
    [InlineData("none", "navigate", "document", HttpStatusCode.OK)]
    public async Task What_another_page_embeds_is_refused(string site, string mode, string destination, HttpStatusCode expected) =>
        Assert.Equal(expected, await Status(
            $"GET / HTTP/1.1\r\nHost: {bench.Address.Authority}\r\nSec-Fetch-Site: {site}\r\nSec-Fetch-Mode: {mode}\r\nSec-Fetch-Dest: {destination}\r\nConnection: close\r\n\r\n"));

    [Fact]
    public async Task A_file_without_the_page_s_token_is_refused()
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        // Some bytes of a real one: of a whole one the refusal would come while it is still being sent.
        using var file = new ByteArrayContent((await File.ReadAllBytesAsync(bench.Whole.Source!))[..5000]);
        int before = bench.Library.List().Count;
        Assert.Equal(HttpStatusCode.Forbidden, (await client.PostAsync("add?name=x.wav", file)).StatusCode);
        // The token alone, without the cookie that it belongs to, is worth nothing: a page that had read it somewhere could not send the cookie.
        string token = await client.GetStringAsync("add/token");
        using var bare = new HttpClient(new HttpClientHandler { UseCookies = false }) { BaseAddress = bench.Address };
        bare.DefaultRequestHeaders.Add("RequestVerificationToken", token);
        Assert.Equal(HttpStatusCode.Forbidden, (await bare.PostAsync("add?name=x.wav", file)).StatusCode);
        Assert.Equal(before, bench.Library.List().Count);
    }

    [Theory]
    [InlineData("../../../../tmp/evil.wav")]
    [InlineData("..\\..\\evil.wav")]
    [InlineData("C:\\Windows\\evil.wav")]
    [InlineData("/etc/cron.d/evil.wav")]
    [InlineData("evil\0.wav\r\nX: y")]
    public async Task A_file_s_name_never_becomes_a_path(string name)
    {
        string[] before = Directory.GetFiles(bench.Folder, "*", SearchOption.AllDirectories);
        HttpResponseMessage answer = await AddAsync(name, "this is no sound"u8.ToArray());
        Assert.Equal(HttpStatusCode.UnprocessableEntity, answer.StatusCode);
        string said = await answer.Content.ReadAsStringAsync();
        Assert.DoesNotContain(bench.Folder, said, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', said);
        Assert.Equal(before.Order(), Directory.GetFiles(bench.Folder, "*", SearchOption.AllDirectories).Order());
        Assert.DoesNotContain("..", Adding.Intake.ShownName(name), StringComparison.Ordinal);
        Assert.True(Adding.Intake.ShownName(name).IndexOfAny(['/', '\\', '\0', '\n', '\r', ':']) < 0);
    }

    /// <summary>The bound is told before a byte is read, and kept when the sender says nothing or lies.</summary>
    [Fact]
    public async Task An_endless_file_is_refused()
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        string token = await client.GetStringAsync("add/token");
        client.DefaultRequestHeaders.Add("RequestVerificationToken", token);
        using var request = new HttpRequestMessage(HttpMethod.Post, "add?name=endless.wav") { Content = new ByteArrayContent([1]) };
        request.Content.Headers.ContentLength = Adding.Intake.LargestFile + 1;
        request.Headers.ExpectContinue = true;
        Exception? broken = null;
        HttpStatusCode? status = null;
        try
        {
            status = (await client.SendAsync(request)).StatusCode;
        }
        catch (HttpRequestException reason)
        {
            broken = reason;
        }

        Assert.True(status is HttpStatusCode.RequestEntityTooLarge || broken is not null, $"It was answered {status}.");
    }

    private async Task<HttpResponseMessage> AddAsync(string name, byte[] bytes)
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        client.DefaultRequestHeaders.Add("RequestVerificationToken", await client.GetStringAsync("add/token"));
        return await client.PostAsync($"add?name={Uri.EscapeDataString(name)}", new ByteArrayContent(bytes));
    }

    [Fact]
    public async Task Only_the_loopback_address_listens()
    {
        Assert.Equal("127.0.0.1", bench.Address.Host);
        IPAddress[] others = [.. (await Dns.GetHostAddressesAsync(Dns.GetHostName())).Where(address => address.AddressFamily == AddressFamily.InterNetwork && !IPAddress.IsLoopback(address))];
        foreach (IPAddress other in others)
        {
            using var client = new TcpClient();
            await Assert.ThrowsAnyAsync<SocketException>(() => client.ConnectAsync(other, bench.Address.Port));
        }
    }

    [Fact]
    public async Task No_setting_from_outside_opens_it_to_the_network()
    {
        const string Urls = "ASPNETCORE_URLS";
        string? before = Environment.GetEnvironmentVariable(Urls);
        try
        {
            Environment.SetEnvironmentVariable(Urls, "http://0.0.0.0:0");
            await using BenchServer server = await BenchServer.StartAsync(new BenchSettings { LibraryFolder = bench.Folder });
            Assert.Equal("127.0.0.1", server.Address.Host);
            Assert.NotEqual(0, server.Address.Port);
        }
        finally
        {
            Environment.SetEnvironmentVariable(Urls, before);
        }
    }

    [Fact]
    public async Task A_port_that_is_taken_is_said_in_one_line()
    {
        InputException reason = await Assert.ThrowsAsync<InputException>(
            () => BenchServer.StartAsync(new BenchSettings { LibraryFolder = bench.Folder, Port = bench.Address.Port }));
        Assert.Contains($"{bench.Address.Port}", reason.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', reason.Message);
    }

    [Fact]
    public async Task Answers_forbid_everything_from_elsewhere()
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        using HttpResponseMessage answer = await client.GetAsync("");
        string policy = string.Join(';', answer.Headers.GetValues("Content-Security-Policy"));
        Assert.Contains("default-src 'none'", policy, StringComparison.Ordinal);
        Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
        Assert.Equal("nosniff", string.Join(';', answer.Headers.GetValues("X-Content-Type-Options")));
        Assert.False(answer.Headers.Contains("Access-Control-Allow-Origin"));
    }

    /// <summary>Raw, because an HTTP client would tidy the odd parts away.</summary>
    private async Task<HttpStatusCode> Status(string request)
    {
        using var client = new TcpClient();
        await client.ConnectAsync(IPAddress.Loopback, bench.Address.Port);
        await using NetworkStream stream = client.GetStream();
        await stream.WriteAsync(Encoding.ASCII.GetBytes(request));
        using var reader = new StreamReader(stream, Encoding.ASCII);
        string line = await reader.ReadLineAsync() ?? "";
        return (HttpStatusCode)int.Parse(line.Split(' ')[1], System.Globalization.CultureInfo.InvariantCulture);
    }
}

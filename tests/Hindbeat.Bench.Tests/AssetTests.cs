using System.Globalization;
using System.Net;
using System.Runtime.InteropServices;
using Hindbeat.Sound;

namespace Hindbeat.Bench.Tests;

/// <summary>Scripts, styles and fonts arrive whole, wherever the program was started from, and are not sent twice.</summary>
[Collection(OneBrowser.Name)]
public class AssetTests(BenchInABrowser bench)
{
    [Theory]
    [InlineData("_framework/blazor.web.js", "text/javascript")]
    [InlineData("study.js", "text/javascript")]
    [InlineData("bench.css", "text/css")]
    [InlineData("icon.svg", "image/svg+xml")]
    [InlineData("fonts/source-serif-4-latin-400-normal.woff2", "font/woff2")]
    [InlineData("fonts/SourceSerif4-OFL.txt", "text/plain")]
    public async Task Each_file_arrives_with_its_bytes_and_type(string path, string type)
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        using HttpResponseMessage answer = await client.GetAsync(path);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Equal(type, answer.Content.Headers.ContentType?.MediaType);
        Assert.True((await answer.Content.ReadAsByteArrayAsync()).Length > 100, $"{path} came nearly empty.");

        using var again = new HttpRequestMessage(HttpMethod.Get, path);
        again.Headers.IfNoneMatch.Add(answer.Headers.ETag ?? throw new InvalidOperationException("No entity tag came."));
        Assert.Equal(HttpStatusCode.NotModified, (await client.SendAsync(again)).StatusCode);
    }

    /// <summary>Floats, all of the left channel, then all of the right; what the recording's own WAV holds.</summary>
    [Fact]
    public async Task The_recording_arrives_sample_for_sample()
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        using HttpResponseMessage answer = await client.GetAsync($"sound/{bench.Whole.Id}/original");
        StereoSound file = SoundLoader.LoadStereo(bench.Whole.Source!);
        Assert.Equal($"{file.SampleRate}:{file.Left.Length}", answer.Headers.GetValues("Hindbeat-Sound").Single());
        byte[] bytes = await answer.Content.ReadAsByteArrayAsync();
        Assert.Equal(file.Left.Concat(file.Right), MemoryMarshal.Cast<byte, float>(bytes).ToArray());

        using HttpResponseMessage part = await client.GetAsync($"sound/{bench.Whole.Id}/original?from=2&to=3.5");
        float[] samples = MemoryMarshal.Cast<byte, float>(await part.Content.ReadAsByteArrayAsync()).ToArray();
        int first = 2 * file.SampleRate, count = 3 * file.SampleRate / 2;
        Assert.Equal(file.Left[first..(first + count)].Concat(file.Right[first..(first + count)]), samples);
        Assert.Equal("0:2,1.5:3.5", part.Headers.GetValues("Hindbeat-Times").Single());
        Assert.Equal(answer.Headers.GetValues("Hindbeat-Loudness"), part.Headers.GetValues("Hindbeat-Loudness"));
    }

    /// <summary>Drawn from it, no peak is missed and none invented, to the step of 16 bits.</summary>
    [Fact]
    public async Task The_outline_holds_the_extremes_of_the_sound()
    {
        using var client = new HttpClient { BaseAddress = bench.Address };
        using HttpResponseMessage answer = await client.GetAsync($"sound/{bench.Whole.Id}/outline");
        short[] pairs = MemoryMarshal.Cast<byte, short>(await answer.Content.ReadAsByteArrayAsync()).ToArray();
        StereoSound file = SoundLoader.LoadStereo(bench.Whole.Source!);
        int step = int.Parse(answer.Headers.GetValues("Hindbeat-Outline").Single().Split(':')[1], CultureInfo.InvariantCulture);
        Assert.Equal((file.Left.Length + step - 1) / step, pairs.Length / 2);
        for (int i = 0; i < pairs.Length / 2; i++)
        {
            float[] both = [.. file.Left.Skip(i * step).Take(step), .. file.Right.Skip(i * step).Take(step)];
            Assert.Equal(both.Min(), pairs[2 * i] / 32767f, 2e-5f);
            Assert.Equal(both.Max(), pairs[(2 * i) + 1] / 32767f, 2e-5f);
        }
    }
}
